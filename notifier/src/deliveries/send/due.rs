//! What is due, from the tables.

use super::super::{Channel, DeliveryError, backoff};
use config::settings::Workspace;
use rusqlite::Connection;
use serde::de::DeserializeOwned;
use std::collections::HashSet;

/// A delivery to be tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Due {
    pub id: i64,
    pub recipient: String,
    pub address: String,
    pub name: Option<String>,
    pub reader: Option<i64>,
    /// Somebody who put themselves on the list; their address stands with the reader alone.
    pub subscribes: bool,
    pub contents: i64,
    pub mark: String,
    /// Times that it was tried.
    pub tries: u32,
}

/// All that is due; those with the same contents beside one another.
#[derive(Debug, Default)]
pub(super) struct AllDue {
    pub mails: Vec<Due>,
    pub posts: Vec<Due>,
}

/// Puts back what an interrupted run left half done. Nobody else sends, so nobody has it.
pub(super) fn take_back(conn: &Connection, now: i64) -> Result<usize, DeliveryError> {
    let sql = "UPDATE deliveries SET
             state = CASE WHEN EXISTS (
                 SELECT 1 FROM readers WHERE readers.id = reader AND readers.state != 'reads'
             ) THEN 'paused' ELSE 'waiting' END,
             in_doubt = in_doubt + 1, session = NULL, due_at = ?1,
             answer = 'interrupted: it may have arrived'
         WHERE state = 'sending'";
    Ok(conn.execute(sql, [now])?)
}

/// Gives up what waits for those who no longer stand in the settings.
pub(super) fn drop_unlisted(conn: &Connection, workspace: &Workspace) -> Result<(), DeliveryError> {
    let mails = workspace.recipients.iter().map(|r| r.mail.to_lowercase());
    let mails: HashSet<String> = mails.collect();
    let hooks = workspace.webhooks.iter().map(|w| w.id.to_lowercase());
    let hooks: HashSet<String> = hooks.collect();
    let sql = "SELECT id, channel, recipient FROM deliveries WHERE state = 'waiting'
         AND NOT EXISTS (SELECT 1 FROM subscribers s
             WHERE s.reader = deliveries.reader AND s.confirmed_at IS NOT NULL)";
    let mut statement = conn.prepare(sql)?;
    let mut rows = statement.query([])?;
    let mut gone: Vec<i64> = Vec::new();
    while let Some(row) = rows.next()? {
        let listed = match Channel::of(&row.get::<_, String>(1)?)? {
            Channel::Mail => &mails,
            Channel::Webhook => &hooks,
        };
        if !listed.contains(&row.get::<_, String>(2)?) {
            gone.push(row.get(0)?);
        }
    }
    let sql = "UPDATE deliveries SET state = 'abandoned', answer = 'no longer in the settings'
         WHERE id = ?1";
    let mut statement = conn.prepare(sql)?;
    for id in gone {
        statement.execute([id])?;
    }
    Ok(())
}

/// Reads what is due now.
pub(super) fn read(conn: &Connection, now: i64) -> Result<AllDue, DeliveryError> {
    let mut statement = conn.prepare(
        "SELECT d.id, coalesce(r.mail, d.recipient), d.address, d.name, d.reader, d.contents,
             d.mark, d.tries, d.channel, d.due_at, d.tried_at, s.confirmed_at IS NOT NULL
         FROM deliveries d LEFT JOIN readers r ON r.id = d.reader
             LEFT JOIN subscribers s ON s.reader = d.reader
         WHERE d.state = 'waiting' AND d.contents IS NOT NULL ORDER BY d.contents, d.id",
    )?;
    let mut rows = statement.query([])?;
    let mut due = AllDue::default();
    while let Some(row) = rows.next()? {
        if !backoff::is_due(now, row.get(9)?, row.get(10)?) {
            continue;
        }
        let (recipient, address): (String, String) = (row.get(1)?, row.get(2)?);
        let one = Due {
            id: row.get(0)?,
            address: match address.contains('@') || row.get::<_, String>(8)? == "webhook" {
                true => address,
                false => recipient.clone(),
            },
            recipient,
            subscribes: row.get(11)?,
            name: row.get(3)?,
            reader: row.get(4)?,
            contents: row.get(5)?,
            mark: row.get(6)?,
            tries: row.get(7)?,
        };
        match Channel::of(&row.get::<_, String>(8)?)? {
            Channel::Mail => due.mails.push(one),
            Channel::Webhook => due.posts.push(one),
        }
    }
    Ok(due)
}

/// When the next of those that wait is due.
pub(super) fn next(conn: &Connection) -> Result<Option<i64>, DeliveryError> {
    let sql = "SELECT min(due_at) FROM deliveries WHERE state = 'waiting'";
    Ok(conn.query_row(sql, [], |row| row.get(0))?)
}

/// The contents of that number, with the time at which their digest was queued.
pub(super) fn contents<T: DeserializeOwned>(
    conn: &Connection,
    id: i64,
) -> Result<(T, i64), DeliveryError> {
    let sql = "SELECT body, queued_at FROM contents JOIN digests ON key = digest WHERE id = ?1";
    let (body, queued_at): (String, i64) =
        conn.query_row(sql, [id], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let contents = serde_json::from_str(&body);
    let contents = contents.map_err(|e| DeliveryError::Unknown(format!("contents {id}: {e}")))?;
    Ok((contents, queued_at))
}
