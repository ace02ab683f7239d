//! Mails about a subscription: what they say, and when one waits to go out.

use super::SubscribersError;
use super::link::Purpose;
use super::rows::{self, Subscriber};
use crate::deliveries::key::StoreKey;
use crate::deliveries::readers::Standing;
use crate::service::schedule::Timetable;
use crate::{columns, words};
use chrono::DateTime;
use config::settings::Workspace;
use rusqlite::{Connection, OptionalExtension, params};
use std::time::Duration;
use url::Url;

/// What a mail is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Whether the address is theirs.
    Confirm,
    /// They get the digest already.
    Known,
}

impl Kind {
    fn name(self) -> &'static str {
        match self {
            Kind::Confirm => "confirm",
            Kind::Known => "known",
        }
    }
}

/// One mail an hour to one address, whoever asks for it.
const BETWEEN_S: i64 = 3600;

/// Puts a mail into the queue, unless one went to the address within the hour or is about to.
pub(super) fn queue(
    conn: &Connection,
    reader: i64,
    kind: Kind,
    now: i64,
) -> Result<(), SubscribersError> {
    let sql = "SELECT 1 FROM letters WHERE reader = ?1 AND made_at > ?2 AND made_at <= ?3";
    let recent = conn.query_row(sql, [reader, now - BETWEEN_S, now], |_| Ok(()));
    if recent.optional()?.is_some() {
        return Ok(());
    }
    conn.execute(
        "INSERT INTO letters (reader, kind, made_at, due_at) VALUES (?1, ?2, ?3, ?3)",
        params![reader, kind.name(), now],
    )?;
    Ok(())
}

/// A mail that is to go out now.
#[derive(Clone)]
pub(super) struct Ready {
    pub id: i64,
    pub to: String,
    pub subject: String,
    pub text: String,
    /// Times that it was tried, this one included.
    pub tries: u32,
}

/// Mails taken up at a time.
const AT_A_TIME: i64 = 100;
/// After so many tries, the link in it has ended.
pub(super) const TRIES: u32 = 10;

/// Takes up what is due: nobody else does meanwhile, since its next try is put off first. What there
/// is no more reason for goes.
pub(super) fn take(
    conn: &Connection,
    workspace: &Workspace,
    key: &StoreKey,
    now: i64,
) -> Result<Vec<Ready>, SubscribersError> {
    // older ones say nothing any more, not even that one went out within the hour
    conn.execute("DELETE FROM letters WHERE sent_at < ?1", [now - BETWEEN_S])?;
    let mut ready = Vec::new();
    for waiting in due(conn, now)? {
        if !waiting.put_off(conn, now)? {
            continue;
        }
        match waiting.ready(conn, workspace, key)? {
            Some(letter) => ready.push(letter),
            None => {
                conn.execute("DELETE FROM letters WHERE id = ?1", [waiting.id])?;
            }
        }
    }
    Ok(ready)
}

/// A mail in the queue.
struct Waiting {
    id: i64,
    reader: i64,
    kind: Kind,
    made_at: i64,
    /// Times that it was tried before.
    tries: u32,
    due_at: i64,
}

fn due(conn: &Connection, now: i64) -> Result<Vec<Waiting>, SubscribersError> {
    let mut statement = conn.prepare(
        "SELECT id, reader, kind, made_at, tries, due_at FROM letters
         WHERE sent_at IS NULL AND due_at <= ?1 ORDER BY id LIMIT ?2",
    )?;
    let due = statement.query_map([now, AT_A_TIME], |row| {
        Ok(Waiting {
            id: row.get(0)?,
            reader: row.get(1)?,
            kind: match row.get::<_, String>(2)?.as_str() {
                "confirm" => Kind::Confirm,
                _ => Kind::Known,
            },
            made_at: row.get(3)?,
            tries: row.get(4)?,
            due_at: row.get(5)?,
        })
    })?;
    Ok(due.collect::<Result<_, _>>()?)
}

impl Waiting {
    /// Puts its next try off; false where somebody else did before us.
    fn put_off(&self, conn: &Connection, now: i64) -> Result<bool, SubscribersError> {
        let wait = crate::deliveries::backoff::wait(self.tries + 1, None);
        let next = now + wait.unwrap_or(Duration::ZERO).as_secs() as i64;
        let sql = "UPDATE letters SET tries = tries + 1, due_at = ?3 WHERE id = ?1 AND due_at = ?2";
        Ok(conn.execute(sql, [self.id, self.due_at, next])? > 0)
    }

    /// Written out; None where there is no more reason for it.
    fn ready(
        &self,
        conn: &Connection,
        workspace: &Workspace,
        key: &StoreKey,
    ) -> Result<Option<Ready>, SubscribersError> {
        let Some(subscriber) = rows::of(conn, self.reader)? else {
            return Ok(None);
        };
        let letter = written(workspace, key, (self.kind, &subscriber), self.made_at);
        Ok(letter.map(|(subject, text)| Ready {
            id: self.id,
            to: subscriber.mail.clone(),
            subject,
            text,
            tries: self.tries + 1,
        }))
    }
}

/// Records that one went out, or is not tried again.
pub(super) fn done(conn: &Connection, id: i64, now: i64) -> Result<(), SubscribersError> {
    conn.execute("UPDATE letters SET sent_at = ?2 WHERE id = ?1", [id, now])?;
    Ok(())
}

/// The mails about a subscription that are held, for their reader.
pub(super) fn held(
    conn: &Connection,
    reader: i64,
) -> Result<Vec<serde_json::Value>, SubscribersError> {
    let sql = "SELECT kind, made_at, sent_at FROM letters WHERE reader = ?1 ORDER BY id";
    let mut statement = conn.prepare(sql)?;
    let at = |seconds: Option<i64>| seconds.and_then(|s| DateTime::from_timestamp(s, 0));
    let rows = statement.query_map([reader], |row| {
        Ok(serde_json::json!({
            "kind": row.get::<_, String>(0)?,
            "made_at": at(row.get(1)?),
            "sent_at": at(row.get(2)?),
        }))
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// An address under the one by which people reach the service.
pub fn page(base: &Url, path: &[&str]) -> Url {
    let mut page = base.clone();
    let whole = format!("{}/{}", base.path().trim_end_matches('/'), path.join("/"));
    page.set_path(&whole);
    page
}

/// Columns of the text.
const WIDTH: usize = 72;

/// Subject and text; None where there is nothing to say any more.
fn written(
    workspace: &Workspace,
    key: &StoreKey,
    (kind, subscriber): (Kind, &Subscriber),
    made_at: i64,
) -> Option<(String, String)> {
    let base = workspace.service.public_url.as_ref()?;
    let purpose = match kind {
        Kind::Confirm => Purpose::Confirm,
        Kind::Known => Purpose::Choices,
    };
    let (token, ends) = subscriber.link(key, purpose, made_at)?;
    let link = page(base, &[purpose.name(), &token]);
    let title = &workspace.digest.title;
    let somebody = format!(
        "Somebody, most likely you, put this address down for \"{title}\", a digest about birds \
         that look alike, by {}.",
        workspace.name
    );
    let (subject, before, after) = match kind {
        Kind::Confirm => (
            format!("Is this address yours? {title}"),
            "To get it, open this page and press the button on it:",
            if_not_you(&until(ends, workspace)),
        ),
        Kind::Known => (
            format!("You are on the list already: {title}"),
            standing(subscriber.standing),
            "If it was not you, do nothing.".to_owned(),
        ),
    };
    let blocks = [
        Block::Text(somebody),
        Block::Text(before.to_owned()),
        Block::Line(link.to_string()),
        Block::Text(after),
    ];
    Some((subject, text(&blocks, workspace)))
}

fn if_not_you(until: &str) -> String {
    format!(
        "The link works once, until {until}. If it was not you, do nothing: nothing more is sent, \
         and an address that is not confirmed by then is deleted a day later."
    )
}

fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Reads => {
            "You get it already, and nothing was changed. What you get, how often, and \
             whether at all, you say on this page:"
        }
        Standing::Paused | Standing::Left => {
            "You are on the list, but paused. To get it again, or to change what you get, open \
             this page:"
        }
    }
}

enum Block {
    Text(String),
    Line(String),
}

/// In paragraphs; behind them whom to ask, and what is to be known of the whole.
fn text(blocks: &[Block], workspace: &Workspace) -> String {
    let wrapped = |text: &str| columns::wrap(text, "", "", WIDTH);
    let own = blocks.iter().map(|block| match block {
        Block::Text(text) => wrapped(text),
        Block::Line(line) => line.clone(),
    });
    let mut paragraphs: Vec<String> = own.collect();
    if let Some(keeper) = &workspace.keeper {
        paragraphs.push(wrapped(&format!("Questions go to {keeper}.")));
    }
    paragraphs.extend(workspace.about.as_deref().map(wrapped));
    words::plain_spaces(&paragraphs.join("\n\n")) + "\n"
}

/// "7 September 2026, 06:30 (Europe/London time)", as the service's own times are told.
fn until(seconds: i64, workspace: &Workspace) -> String {
    let zone = Timetable::of(workspace).zone;
    let at = DateTime::from_timestamp(seconds, 0).unwrap_or_default();
    format!("{} ({zone} time)", words::moment(at, zone))
}
