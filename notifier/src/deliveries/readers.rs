//! People on the list: whether they read, are paused since mail to them came back, or have left.

use super::DeliveryError;
use rusqlite::{Connection, OptionalExtension, params};

/// Why somebody is paused or has left who asked for it, as it is kept and told to the keeper.
pub const OWN_WISH: &str = "at their own wish";

/// Whether a reader is mailed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// They are.
    Reads,
    /// Mail to them came back for good.
    Paused,
    /// They asked for no more.
    Left,
}

impl Standing {
    /// As the tables and the JSON write it.
    pub fn name(self) -> &'static str {
        match self {
            Standing::Reads => "reads",
            Standing::Paused => "paused",
            Standing::Left => "left",
        }
    }

    pub(crate) fn of(name: &str) -> Result<Self, DeliveryError> {
        let known = [Standing::Reads, Standing::Paused, Standing::Left].into_iter();
        let mut found = known.filter(|s| s.name() == name);
        found
            .next()
            .ok_or_else(|| DeliveryError::Unknown(format!("the reader's state {name:?}")))
    }
}

/// A reader who is not mailed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Away {
    /// Address, in small letters.
    pub mail: String,
    /// Paused or left.
    pub standing: Standing,
    /// Since when, seconds since 1970.
    pub since: Option<i64>,
    /// Why, in a phrase.
    pub why: Option<String>,
}

/// The reader's number; a new one where the address is new.
pub(crate) fn number(conn: &Connection, mail: &str) -> Result<i64, DeliveryError> {
    let mail = mail.to_lowercase();
    conn.prepare_cached("INSERT INTO readers (mail) VALUES (?1) ON CONFLICT (mail) DO NOTHING")?
        .execute([&mail])?;
    let mut statement = conn.prepare_cached("SELECT id FROM readers WHERE mail = ?1")?;
    Ok(statement.query_row([&mail], |row| row.get(0))?)
}

/// Whether the reader of that number is mailed.
pub(super) fn standing(conn: &Connection, number: i64) -> Result<Standing, DeliveryError> {
    let mut statement = conn.prepare_cached("SELECT state FROM readers WHERE id = ?1")?;
    let state: String = statement.query_row([number], |row| row.get(0))?;
    Standing::of(&state)
}

/// The address of the reader of that number.
pub(super) fn mail(conn: &Connection, number: i64) -> Result<Option<String>, DeliveryError> {
    let sql = "SELECT mail FROM readers WHERE id = ?1";
    let mail = conn.query_row(sql, [number], |row| row.get(0));
    Ok(mail.optional()?)
}

/// Mails the reader no more: what waits for them is kept back with them.
pub(crate) fn put_away(
    conn: &Connection,
    number: i64,
    standing: Standing,
    why: &str,
    now: i64,
) -> Result<(), DeliveryError> {
    // who has left stays so, even where mail to them comes back afterwards
    conn.execute(
        "UPDATE readers SET state = ?2, since = ?3, why = ?4 WHERE id = ?1 AND state != 'left'",
        params![number, standing.name(), now, why],
    )?;
    conn.execute(
        "UPDATE deliveries SET state = 'paused' WHERE reader = ?1 AND state = 'waiting'",
        [number],
    )?;
    Ok(())
}

/// Mails the reader again from the next digest on.
pub(crate) fn bring_back(conn: &Connection, number: i64) -> Result<(), DeliveryError> {
    let sql = "UPDATE readers SET state = 'reads', since = NULL, why = NULL WHERE id = ?1";
    conn.execute(sql, [number])?;
    Ok(())
}

/// Everyone who is not mailed.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be read.
pub fn away(conn: &Connection) -> Result<Vec<Away>, DeliveryError> {
    let sql = "SELECT mail, state, since, why FROM readers WHERE state != 'reads' ORDER BY mail";
    let mut statement = conn.prepare(sql)?;
    let mut rows = statement.query([])?;
    let mut away = Vec::new();
    while let Some(row) = rows.next()? {
        away.push(Away {
            mail: row.get(0)?,
            standing: Standing::of(&row.get::<_, String>(1)?)?,
            since: row.get(2)?,
            why: row.get(3)?,
        });
    }
    Ok(away)
}

/// Mails the reader again from the next digest on; gives whether they were not mailed before.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be written.
pub fn resume(conn: &Connection, mail: &str) -> Result<bool, DeliveryError> {
    let changed = conn.execute(
        "UPDATE readers SET state = 'reads', since = NULL, why = NULL
         WHERE mail = ?1 AND state != 'reads'",
        [mail.to_lowercase()],
    )?;
    Ok(changed > 0)
}
