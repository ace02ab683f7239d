//! The rows of subscribers: how they come, change, pause, leave and are forgotten.

use super::link::{self, Claim, Purpose};
use super::{Address, Choices, SubscribersError, letters};
use crate::deliveries::key::{self, StoreKey};
use crate::deliveries::readers::{self, Standing};
use chrono::{DateTime, Utc};
use rusqlite::{Connection, OptionalExtension, Row, Transaction, TransactionBehavior, params};

/// Somebody who put themselves on the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Subscriber {
    /// Their number among readers.
    pub reader: i64,
    /// Their address; kept from logs by its own type where it leaves this one.
    pub(super) mail: String,
    /// What they want.
    pub choices: Choices,
    /// When they put themselves down, seconds since 1970.
    pub asked_at: i64,
    /// When they confirmed; None while that is waited for.
    pub confirmed_at: Option<i64>,
    /// Whether they are mailed.
    pub standing: Standing,
    /// Since when they are not, and why.
    pub away: Option<(i64, String)>,
    /// What the confirmation link is bound to until it was used.
    once: Option<String>,
    /// What was put down anew and is not confirmed, of somebody who had left.
    pub(super) asked: Option<Choices>,
}

const ALL: &str = "SELECT s.reader, r.mail, s.choices, s.asked_at, s.confirmed_at, r.state,
        r.since, r.why, s.once, s.asked
    FROM subscribers s JOIN readers r ON r.id = s.reader";

impl Subscriber {
    fn of(row: &Row<'_>) -> Result<Self, SubscribersError> {
        let since: Option<i64> = row.get(6)?;
        let why: Option<String> = row.get(7)?;
        let asked: Option<String> = row.get(9)?;
        Ok(Subscriber {
            reader: row.get(0)?,
            mail: row.get(1)?,
            choices: read_choices(&row.get::<_, String>(2)?)?,
            asked_at: row.get(3)?,
            confirmed_at: row.get(4)?,
            standing: Standing::of(&row.get::<_, String>(5)?)?,
            away: since.map(|since| (since, why.unwrap_or_default())),
            once: row.get(8)?,
            asked: asked.as_deref().map(read_choices).transpose()?,
        })
    }

    /// A link of theirs for the time from now on; None where there is nothing to confirm.
    pub fn link(&self, key: &StoreKey, purpose: Purpose, from: i64) -> Option<(String, i64)> {
        let lasts = match purpose {
            Purpose::Confirm => link::CONFIRM_S,
            Purpose::Choices => link::CHOICES_S,
        };
        let claim = Claim {
            reader: self.reader,
            ends: from + lasts,
        };
        let bound = self.bound(purpose)?;
        Some((link::token(key, purpose, claim, &bound), claim.ends))
    }

    /// What a link of theirs stands or falls with.
    fn bound(&self, purpose: Purpose) -> Option<Vec<&str>> {
        match purpose {
            Purpose::Confirm => Some(vec![&self.mail, self.once.as_deref()?]),
            Purpose::Choices => Some(vec![&self.mail]),
        }
    }

    /// As much of the address as its owner knows it by.
    pub fn masked(&self) -> String {
        super::address::masked(&self.mail)
    }

    /// What they get once they confirm.
    pub(super) fn wanted(&self) -> &Choices {
        self.asked.as_ref().unwrap_or(&self.choices)
    }

    /// Whether the confirmation is still waited for.
    pub fn waits(&self) -> bool {
        self.confirmed_at.is_none()
    }
}

fn read_choices(text: &str) -> Result<Choices, SubscribersError> {
    serde_json::from_str(text).map_err(|e| SubscribersError::Unknown(e.to_string()))
}

fn written(choices: &Choices) -> Result<String, SubscribersError> {
    serde_json::to_string(choices).map_err(|e| SubscribersError::Unknown(e.to_string()))
}

/// The subscriber of that number.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be read.
pub fn of(conn: &Connection, reader: i64) -> Result<Option<Subscriber>, SubscribersError> {
    let mut statement = conn.prepare_cached(&format!("{ALL} WHERE s.reader = ?1"))?;
    let mut rows = statement.query([reader])?;
    rows.next()?.map(Subscriber::of).transpose()
}

/// Everyone who confirmed and is mailed, by number.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be read.
pub fn mailed(conn: &Connection) -> Result<Vec<Subscriber>, SubscribersError> {
    let sql =
        format!("{ALL} WHERE s.confirmed_at IS NOT NULL AND r.state = 'reads' ORDER BY s.reader");
    let mut statement = conn.prepare(&sql)?;
    let mut rows = statement.query([])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        all.push(Subscriber::of(row)?);
    }
    Ok(all)
}

/// How many are in each standing: waiting, reading, paused, left.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be read.
pub fn by_standing(conn: &Connection) -> Result<Vec<(String, usize)>, SubscribersError> {
    let sql = "SELECT CASE WHEN s.confirmed_at IS NULL THEN 'waits' ELSE r.state END, count(*)
        FROM subscribers s JOIN readers r ON r.id = s.reader GROUP BY 1 ORDER BY 1";
    let mut statement = conn.prepare(sql)?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get::<_, i64>(1)?)))?;
    let mut all = Vec::new();
    for row in rows {
        let (standing, number) = row?;
        all.push((standing, usize::try_from(number).unwrap_or_default()));
    }
    Ok(all)
}

/// Takes in a wish for the digest, whoever's it is: a mail goes to the address, which asks whether it
/// is theirs, or tells that they get it already. Gives nothing that tells which.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be written; then nothing is.
pub fn ask(
    conn: &mut Connection,
    address: &Address,
    choices: &Choices,
    now: DateTime<Utc>,
) -> Result<(), SubscribersError> {
    let now = now.timestamp();
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    forget_unconfirmed(&tx, now)?;
    let reader = readers::number(&tx, address.expose())?;
    let known = of(&tx, reader)?;
    let reads = known.as_ref().is_some_and(|s| {
        // who left is asked anew; the choices of others change on their own page alone
        !s.waits() && s.standing != Standing::Left
    });
    let kind = match reads {
        true => letters::Kind::Known,
        false => {
            put_down(&tx, reader, (known.as_ref(), choices), now)?;
            letters::Kind::Confirm
        }
    };
    letters::queue(&tx, reader, kind, now)?;
    tx.commit()?;
    Ok(())
}

fn put_down(
    tx: &Transaction<'_>,
    reader: i64,
    (known, choices): (Option<&Subscriber>, &Choices),
    now: i64,
) -> Result<(), SubscribersError> {
    // who waits keeps what the link in an earlier mail is bound to
    let once = match known.and_then(|s| s.once.clone()) {
        Some(once) => once,
        None => key::hex(&key::random()?),
    };
    // anybody can put down an address that left: what its owner chose stays until they confirm
    let sql = match known.is_some_and(|s| !s.waits()) {
        true => "UPDATE subscribers SET asked = ?2, asked_at = ?3, once = ?4 WHERE reader = ?1",
        false => {
            "INSERT INTO subscribers (reader, choices, asked_at, once) VALUES (?1, ?2, ?3, ?4)
             ON CONFLICT (reader) DO UPDATE SET choices = ?2, asked_at = ?3, once = ?4"
        }
    };
    tx.execute(sql, params![reader, written(choices)?, now, once])?;
    Ok(())
}

/// Who never confirmed is forgotten a day after their link ended.
const UNCONFIRMED_S: i64 = link::CONFIRM_S + 24 * 3600;

/// Forgets everyone who did not confirm in time, and what was put down anew for those who had left.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be written.
pub fn forget_unconfirmed(conn: &Connection, now: i64) -> Result<usize, SubscribersError> {
    conn.execute(
        "UPDATE subscribers SET asked = NULL, once = NULL
         WHERE confirmed_at IS NOT NULL AND once IS NOT NULL AND asked_at < ?1",
        [now - UNCONFIRMED_S],
    )?;
    let sql = "SELECT reader FROM subscribers WHERE confirmed_at IS NULL AND asked_at < ?1";
    let mut statement = conn.prepare(sql)?;
    let late = statement.query_map([now - UNCONFIRMED_S], |row| row.get::<_, i64>(0))?;
    let late = late.collect::<Result<Vec<_>, _>>()?;
    for reader in &late {
        conn.execute("DELETE FROM letters WHERE reader = ?1", [reader])?;
        conn.execute("DELETE FROM subscribers WHERE reader = ?1", [reader])?;
        // who left before stays away
        conn.execute(
            "DELETE FROM readers WHERE id = ?1 AND state = 'reads'
                 AND NOT EXISTS (SELECT 1 FROM deliveries WHERE reader = ?1)",
            [reader],
        )?;
    }
    Ok(late.len())
}

/// What a link leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Holder {
    /// Its holder.
    Known(Box<Subscriber>),
    /// It was theirs, but its time is over.
    Ended,
    /// Nobody's, or one that was used.
    Unknown,
}

/// Whose link it is.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be read.
pub fn holder(
    conn: &Connection,
    key: &StoreKey,
    (purpose, token): (Purpose, &str),
    now: DateTime<Utc>,
) -> Result<Holder, SubscribersError> {
    let Some(claim) = link::claim(token) else {
        return Ok(Holder::Unknown);
    };
    let Some(subscriber) = of(conn, claim.reader)? else {
        return Ok(Holder::Unknown);
    };
    let own = subscriber
        .bound(purpose)
        .is_some_and(|bound| link::holds(key, token, purpose, &bound));
    Ok(match own {
        false => Holder::Unknown,
        true if now.timestamp() > claim.ends => Holder::Ended,
        true => Holder::Known(Box::new(subscriber)),
    })
}

/// Puts who confirms on the list; gives whether the link had not been used before.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be written; then nothing is.
pub fn confirm(
    conn: &mut Connection,
    subscriber: &Subscriber,
    now: DateTime<Utc>,
) -> Result<bool, SubscribersError> {
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let changed = tx.execute(
        "UPDATE subscribers SET confirmed_at = ?3, once = NULL,
             choices = coalesce(asked, choices), asked = NULL
         WHERE reader = ?1 AND once = ?2",
        params![subscriber.reader, subscriber.once, now.timestamp()],
    )?;
    if changed > 0 {
        readers::bring_back(&tx, subscriber.reader)?;
    }
    tx.commit()?;
    Ok(changed > 0)
}

/// Takes other choices.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be written.
pub fn change(conn: &Connection, reader: i64, choices: &Choices) -> Result<(), SubscribersError> {
    let sql = "UPDATE subscribers SET choices = ?2 WHERE reader = ?1";
    conn.execute(sql, params![reader, written(choices)?])?;
    Ok(())
}

/// Mails them no more until they come back.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be written.
pub fn put_away(
    conn: &Connection,
    reader: i64,
    standing: Standing,
    now: DateTime<Utc>,
) -> Result<(), SubscribersError> {
    let why = readers::OWN_WISH;
    Ok(readers::put_away(
        conn,
        reader,
        standing,
        why,
        now.timestamp(),
    )?)
}

/// Mails them again from the next digest on.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be written.
pub fn bring_back(conn: &Connection, reader: i64) -> Result<(), SubscribersError> {
    Ok(readers::bring_back(conn, reader)?)
}

/// Forgets all that is held of somebody. What went out stays as a row without a name. An address that
/// the settings name too stays as one that is not mailed, or the next digest would go there.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be written; then nothing is.
pub fn erase(
    conn: &mut Connection,
    subscriber: &Subscriber,
    in_settings: bool,
    now: DateTime<Utc>,
) -> Result<(), SubscribersError> {
    // what is deleted is overwritten, in the file and in its log
    conn.pragma_update(None, "secure_delete", true)?;
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let reader = subscriber.reader;
    tx.execute("DELETE FROM letters WHERE reader = ?1", [reader])?;
    tx.execute("DELETE FROM subscribers WHERE reader = ?1", [reader])?;
    tx.execute(
        "UPDATE deliveries SET recipient = 'erased-' || id, address = 'erased',
             name = NULL, reader = NULL, answer = NULL, contents = NULL,
             state = CASE WHEN state IN ('sent', 'refused') THEN state ELSE 'abandoned' END
         WHERE reader = ?1",
        [reader],
    )?;
    match in_settings {
        true => put_away(&tx, reader, Standing::Left, now)?,
        false => {
            tx.execute("DELETE FROM readers WHERE id = ?1", [reader])?;
        }
    }
    tx.commit()?;
    // a reader of the tables may hold the log for a moment longer; then the next one shortens it
    let _: i64 = conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    Ok(())
}

/// Whether an address of the settings is that of somebody who chose for themselves.
pub(crate) fn chose(conn: &Connection, reader: i64) -> Result<bool, rusqlite::Error> {
    let sql = "SELECT 1 FROM subscribers WHERE reader = ?1 AND confirmed_at IS NOT NULL";
    let found = conn
        .prepare_cached(sql)?
        .query_row([reader], |_| Ok(()))
        .optional()?;
    Ok(found.is_some())
}
