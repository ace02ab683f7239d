//! The rows of deliveries: their states, and how they are looked at and changed by people.

use super::{Channel, DeliveryError};
use rusqlite::{Connection, Row, named_params, params};

/// What became of a delivery.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// To be sent when it is due.
    Waiting,
    /// A session has it.
    Sending,
    /// The receiver took it.
    Sent,
    /// It was refused for good, or tried as often as it is.
    Refused,
    /// The keeper gave it up.
    Abandoned,
    /// Its reader is paused or has left.
    Paused,
}

impl State {
    /// All, in the order in which they are told.
    pub const ALL: [State; 6] = [
        State::Sent,
        State::Waiting,
        State::Sending,
        State::Refused,
        State::Paused,
        State::Abandoned,
    ];

    /// As the tables, the JSON and people write it.
    pub fn name(self) -> &'static str {
        match self {
            State::Waiting => "waiting",
            State::Sending => "sending",
            State::Sent => "sent",
            State::Refused => "refused",
            State::Abandoned => "abandoned",
            State::Paused => "paused",
        }
    }

    fn of(name: &str) -> Result<Self, DeliveryError> {
        let found = State::ALL.into_iter().find(|s| s.name() == name);
        found.ok_or_else(|| DeliveryError::Unknown(format!("the state {name:?}")))
    }
}

/// A row as people look at it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// Which digest.
    pub digest: String,
    /// By which way.
    pub channel: Channel,
    /// The address, or the webhook's id.
    pub address: String,
    /// What became of it.
    pub state: State,
    /// Times it was tried.
    pub tries: u32,
    /// The last try, seconds since 1970.
    pub tried_at: Option<i64>,
    /// The next try, where it waits for one.
    pub due_at: Option<i64>,
    /// Times that it may have arrived without our knowing.
    pub in_doubt: u32,
    /// The last word on it.
    pub answer: Option<String>,
    /// What a receiver tells a second copy by.
    pub mark: String,
}

/// A digest that went out, the last one first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListedDigest {
    /// What tells it from every other.
    pub key: String,
    /// Its subject.
    pub subject: String,
    /// When it was queued, seconds since 1970.
    pub queued_at: i64,
}

/// Every digest, the last one first.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be read.
pub fn digests(conn: &Connection) -> Result<Vec<ListedDigest>, DeliveryError> {
    let sql = "SELECT key, subject, queued_at FROM digests ORDER BY queued_at DESC, key DESC";
    let mut statement = conn.prepare(sql)?;
    let listed = statement.query_map([], |row| {
        Ok(ListedDigest {
            key: row.get(0)?,
            subject: row.get(1)?,
            queued_at: row.get(2)?,
        })
    })?;
    Ok(listed.collect::<Result<_, _>>()?)
}

/// The deliveries of a digest, by channel and address.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be read.
pub fn listed(conn: &Connection, digest: &str) -> Result<Vec<Listed>, DeliveryError> {
    let mut statement = conn.prepare(
        "SELECT digest, channel, address, state, tries, tried_at, due_at, in_doubt, answer, mark
         FROM deliveries WHERE digest = ?1 ORDER BY channel, address",
    )?;
    let mut rows = statement.query([digest])?;
    let mut listed = Vec::new();
    while let Some(row) = rows.next()? {
        listed.push(of_row(row)?);
    }
    Ok(listed)
}

fn of_row(row: &Row<'_>) -> Result<Listed, DeliveryError> {
    let state = State::of(&row.get::<_, String>(3)?)?;
    let due_at: i64 = row.get(6)?;
    Ok(Listed {
        digest: row.get(0)?,
        channel: Channel::of(&row.get::<_, String>(1)?)?,
        address: row.get(2)?,
        state,
        tries: row.get(4)?,
        tried_at: row.get(5)?,
        due_at: (state == State::Waiting).then_some(due_at),
        in_doubt: row.get(7)?,
        answer: row.get(8)?,
        mark: row.get(9)?,
    })
}

/// How many deliveries of a digest, or of all where None, are in each state that any is in.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be read.
pub fn by_state(
    conn: &Connection,
    digest: Option<&str>,
) -> Result<Vec<(State, usize)>, DeliveryError> {
    let mut statement = conn.prepare(
        "SELECT state, count(*) FROM deliveries WHERE ?1 IS NULL OR digest = ?1 GROUP BY state",
    )?;
    let mut rows = statement.query([digest])?;
    let mut counts = Vec::new();
    while let Some(row) = rows.next()? {
        let count: u32 = row.get(1)?;
        counts.push((State::of(&row.get::<_, String>(0)?)?, count as usize));
    }
    counts.sort_by_key(|(state, _)| State::ALL.iter().position(|s| s == state));
    Ok(counts)
}

/// Which deliveries a command is about.
#[derive(Debug, Clone, Copy)]
pub struct Which<'a> {
    /// Of this digest; of all where None.
    pub digest: Option<&'a str>,
    /// To this address or webhook; to all where None.
    pub recipient: Option<&'a str>,
    /// In this state; in any that the command is about where None.
    pub state: Option<State>,
}

/// Lets what waits or was refused be tried afresh, at once, and what was abandoned or kept back
/// where its recipient is named; what its reader does not want stays. Gives how many.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be written.
pub fn retry(conn: &Connection, which: Which<'_>, now: i64) -> Result<usize, DeliveryError> {
    // what was given up or kept back is tried again only where it is named
    let sql = "UPDATE deliveries SET state = 'waiting', tries = 0, due_at = :now, tried_at = NULL
         WHERE (state IN ('waiting', 'refused') OR (state IN ('abandoned', 'paused') AND :who IS NOT NULL))
           AND contents IS NOT NULL
           AND (:digest IS NULL OR digest = :digest) AND (:who IS NULL OR recipient = :who)
           AND (:state IS NULL OR state = :state)
           AND NOT EXISTS (SELECT 1 FROM readers WHERE id = reader AND readers.state != 'reads')";
    let who = which.recipient.map(str::to_lowercase);
    Ok(conn.execute(
        sql,
        named_params! { ":now": now, ":digest": which.digest, ":who": who, ":state": which.state.map(State::name) },
    )?)
}

/// Gives up what waits or was refused. Gives how many.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be written.
pub fn abandon(conn: &Connection, which: Which<'_>) -> Result<usize, DeliveryError> {
    let sql = "UPDATE deliveries SET state = 'abandoned'
         WHERE state IN ('waiting', 'refused')
           AND (?1 IS NULL OR digest = ?1) AND (?2 IS NULL OR recipient = ?2)
           AND (?3 IS NULL OR state = ?3)";
    let who = which.recipient.map(str::to_lowercase);
    let state = which.state.map(State::name);
    Ok(conn.execute(sql, params![which.digest, who, state])?)
}

/// Addresses and webhooks that any delivery was meant for.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be read.
pub fn recipients(conn: &Connection) -> Result<Vec<String>, DeliveryError> {
    let mut statement = conn.prepare("SELECT DISTINCT recipient FROM deliveries")?;
    let found = statement.query_map([], |row| row.get(0))?;
    Ok(found.collect::<Result<_, _>>()?)
}
