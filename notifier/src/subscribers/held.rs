//! What is held of a subscriber, told to themselves.

use super::rows::Subscriber;
use super::{SubscribersError, letters};
use chrono::DateTime;
use rusqlite::Connection;

/// All that is held of somebody, for themselves.
///
/// # Errors
/// [`SubscribersError`] where the tables cannot be read.
pub(super) fn held(
    conn: &Connection,
    subscriber: &Subscriber,
) -> Result<serde_json::Value, SubscribersError> {
    let at = |seconds: Option<i64>| seconds.and_then(|s| DateTime::from_timestamp(s, 0));
    let mut statement = conn.prepare(
        "SELECT r.digest, d.subject, r.state, r.tries, r.tried_at, r.answer
         FROM deliveries r JOIN digests d ON d.key = r.digest
         WHERE r.reader = ?1 ORDER BY d.queued_at",
    )?;
    let rows = statement.query_map([subscriber.reader], |row| {
        Ok(serde_json::json!({
            "digest": row.get::<_, String>(0)?,
            "subject": row.get::<_, String>(1)?,
            "state": row.get::<_, String>(2)?,
            "tries": row.get::<_, i64>(3)?,
            "tried_at": at(row.get(4)?),
            "answer": row.get::<_, Option<String>>(5)?,
        }))
    })?;
    let deliveries: Vec<serde_json::Value> = rows.collect::<Result<_, _>>()?;
    let standing = match subscriber.waits() {
        true => "waits",
        false => subscriber.standing.name(),
    };
    Ok(serde_json::json!({
        "address": subscriber.mail,
        "standing": standing,
        "since": at(subscriber.away.as_ref().map(|(since, _)| *since)),
        "why": subscriber.away.as_ref().map(|(_, why)| why),
        "channel": "mail",
        "choices": subscriber.choices,
        "choices_to_be_confirmed": subscriber.asked,
        "put_down_at": at(Some(subscriber.asked_at)),
        "confirmed_at": at(subscriber.confirmed_at),
        "mails_about_the_subscription": letters::held(conn, subscriber.reader)?,
        "deliveries": deliveries,
    }))
}
