//! Puts a digest's deliveries into the tables: all of them or none.

use super::key::StoreKey;
use super::readers::{self, Standing};
use super::{Channel, DeliveryError, MailContents, State, WebhookContents};
use crate::dates;
use crate::digest::Digest;
use crate::subscribers::editions::{Editions, Personal};
use crate::subscribers::rows::Subscriber;
use crate::subscribers::{self, Choices, SubscribersError};
use crate::web::aliases::Aliases;
use crate::web::shown;
use chrono::{DateTime, Utc};
use config::service::{Recipient, Webhook};
use config::settings::Workspace;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};
use serde::Serialize;
use std::collections::HashMap;

/// What was queued.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Queued {
    /// Deliveries that are new.
    pub new: usize,
    /// Deliveries of this digest that were there before, whatever became of them.
    pub before: usize,
}

/// A digest that goes out.
#[derive(Clone, Copy)]
pub struct Outgoing<'a> {
    /// As those of the settings get it.
    pub digest: &'a Digest,
    /// As subscribers get it.
    pub editions: &'a Editions,
    /// What tells it from every other.
    pub key: &'a str,
}

/// Queues the digest for every recipient and webhook of the settings and every subscriber, in one
/// transaction. What was queued before under the same key stays as it is, with what was rendered
/// then.
///
/// # Errors
/// [`DeliveryError`]; then nothing was queued.
pub fn queue(
    conn: &mut Connection,
    workspace: &Workspace,
    outgoing: Outgoing<'_>,
    now: DateTime<Utc>,
) -> Result<Queued, DeliveryError> {
    let Outgoing { digest, key, .. } = outgoing;
    let store_key = StoreKey::open(&workspace.root)?;
    let aliases = Aliases::of(workspace)?;
    let shown = shown::sites(workspace, &aliases).into_iter();
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    forget_old(&tx, now)?;
    enter(&tx, digest, key, now)?;
    let mut queue = Queue {
        tx: &tx,
        workspace,
        digest,
        shown: shown.map(|(own, site)| (site.id, own)).collect(),
        key,
        store_key,
        now,
        rendered: HashMap::new(),
        queued: Queued { new: 0, before: 0 },
    };
    for recipient in &workspace.recipients {
        queue.mail(recipient)?;
    }
    for subscriber in subscribers::rows::mailed(&tx).map_err(unreadable)? {
        queue.subscriber(outgoing.editions, &subscriber)?;
    }
    for webhook in &workspace.webhooks {
        queue.webhook(webhook)?;
    }
    let queued = queue.queued;
    tx.commit()?;
    Ok(queued)
}

/// The digest itself, where it is not there yet.
fn enter(
    tx: &Transaction,
    digest: &Digest,
    key: &str,
    now: DateTime<Utc>,
) -> Result<(), DeliveryError> {
    let mut entry = tx.prepare_cached(
        "INSERT INTO digests (key, date, subject, queued_at) VALUES (?1, ?2, ?3, ?4)
         ON CONFLICT (key) DO NOTHING",
    )?;
    let date = digest.date.to_string();
    entry.execute(params![key, date, digest.subject()?, now.timestamp()])?;
    Ok(())
}

const NO_SITE: &str = "none of the sites that they want is in this digest";

fn unreadable(error: SubscribersError) -> DeliveryError {
    match error {
        SubscribersError::Deliveries(error) => error,
        other => DeliveryError::Unknown(other.to_string()),
    }
}

/// How long what was rendered is kept, seconds: retries are long over, and a bounce has come.
const KEPT: i64 = 90 * 24 * 3600;

/// The texts of old digests go; their rows stay, since they say what went out.
fn forget_old(tx: &Transaction<'_>, now: DateTime<Utc>) -> Result<(), DeliveryError> {
    let old = "SELECT c.id FROM contents c JOIN digests d ON d.key = c.digest
         WHERE d.queued_at < ?1 AND NOT EXISTS (
             SELECT 1 FROM deliveries r
             WHERE r.contents = c.id AND r.state IN ('waiting', 'sending'))";
    let before = now.timestamp() - KEPT;
    tx.execute(
        &format!("UPDATE deliveries SET contents = NULL WHERE contents IN ({old})"),
        [before],
    )?;
    tx.execute(
        &format!("DELETE FROM contents WHERE id IN ({old})"),
        [before],
    )?;
    Ok(())
}

struct Queue<'a> {
    tx: &'a Transaction<'a>,
    workspace: &'a Workspace,
    digest: &'a Digest,
    /// The settings' own ids of sites by those that they have in digests.
    shown: HashMap<String, &'a str>,
    key: &'a str,
    store_key: StoreKey,
    now: DateTime<Utc>,
    /// Rows of contents by the sites that they cover; None where the digest covers none of them.
    rendered: HashMap<String, Option<i64>>,
    queued: Queued,
}

/// A row to be.
struct New<'a> {
    channel: Channel,
    address: &'a str,
    name: Option<&'a str>,
    reader: Option<i64>,
    contents: Option<i64>,
    state: State,
    answer: Option<String>,
}

impl Queue<'_> {
    fn mail(&mut self, recipient: &Recipient) -> Result<(), DeliveryError> {
        let reader = readers::number(self.tx, &recipient.mail)?;
        if subscribers::rows::chose(self.tx, reader)? {
            // what they chose for themselves goes before what the settings say of them
            return Ok(());
        }
        let contents = self.mail_contents(recipient)?;
        let (state, answer) = match (readers::standing(self.tx, reader)?, contents) {
            (Standing::Reads, Some(_)) => (State::Waiting, None),
            (Standing::Reads, None) => (State::Refused, Some(NO_SITE.to_owned())),
            (away, _) => (
                State::Paused,
                Some(format!("the reader is {}", words(away))),
            ),
        };
        self.insert(New {
            channel: Channel::Mail,
            address: &recipient.mail,
            name: recipient.name.as_deref(),
            reader: Some(reader),
            contents,
            state,
            answer,
        })
    }

    /// A subscriber's address stands with the reader, and in no row of a delivery.
    fn subscriber(
        &mut self,
        editions: &Editions,
        subscriber: &Subscriber,
    ) -> Result<(), DeliveryError> {
        let Some(personal) = editions.of(&subscriber.choices) else {
            return Ok(());
        };
        let contents = match personal.is_empty {
            true => None,
            false => Some(self.personal_contents(&personal, &subscriber.choices)?),
        };
        let (state, answer) = match contents {
            Some(_) => (State::Waiting, None),
            None => (State::Refused, Some(NO_SITE.to_owned())),
        };
        self.insert(New {
            channel: Channel::Mail,
            address: &format!("subscriber-{}", subscriber.reader),
            name: None,
            reader: Some(subscriber.reader),
            contents,
            state,
            answer,
        })
    }

    /// The rendering for all who chose the same.
    fn personal_contents(
        &mut self,
        personal: &Personal<'_>,
        choices: &Choices,
    ) -> Result<i64, DeliveryError> {
        let form = &personal.form;
        if let Some(Some(known)) = self.rendered.get(form) {
            return Ok(*known);
        }
        let id = match self.kept(form)? {
            Some(id) => id,
            None => {
                let from = &self.workspace.digest.from;
                let made = dates::with(personal.dates, || {
                    MailContents::of(&personal.digest(choices), self.key, from, form)
                });
                self.keep(form, &made?)?
            }
        };
        self.rendered.insert(form.clone(), Some(id));
        Ok(id)
    }

    fn webhook(&mut self, webhook: &Webhook) -> Result<(), DeliveryError> {
        let form = format!("webhook {}", webhook.id);
        let (contents, answer) = match self.kept(&form)? {
            Some(id) => (Some(id), None),
            None => match WebhookContents::of(self.digest, self.key, webhook, self.now)? {
                Ok(made) => (Some(self.keep(&form, &made)?), None),
                Err(why) => (None, Some(why)),
            },
        };
        let refused = answer.is_some();
        self.insert(New {
            channel: Channel::Webhook,
            address: &webhook.id,
            name: None,
            reader: None,
            contents,
            state: if refused {
                State::Refused
            } else {
                State::Waiting
            },
            answer,
        })
    }

    /// The rendering with the sites that the recipient wants.
    fn mail_contents(&mut self, recipient: &Recipient) -> Result<Option<i64>, DeliveryError> {
        let named = |id: &str| recipient.sites.iter().any(|site| site == id);
        let own = |id: &str| self.shown.get(id).copied();
        let wanted = |id: &str| recipient.sites.is_empty() || named(own(id).unwrap_or(id));
        let covered = self.digest.sites.iter().map(|s| s.guidance.site.as_str());
        let form = covered
            .filter(|id| wanted(id))
            .collect::<Vec<_>>()
            .join("+");
        if let Some(known) = self.rendered.get(&form) {
            return Ok(*known);
        }
        let contents = match self.kept(&form)? {
            Some(id) => Some(id),
            None if form.is_empty() => None,
            None => {
                let digest = self.digest.of_sites(wanted);
                let from = &self.workspace.digest.from;
                let made = MailContents::of(&digest, self.key, from, &form)?;
                Some(self.keep(&form, &made)?)
            }
        };
        self.rendered.insert(form, contents);
        Ok(contents)
    }

    /// The row of what was rendered before.
    fn kept(&self, form: &str) -> Result<Option<i64>, DeliveryError> {
        let sql = "SELECT id FROM contents WHERE digest = ?1 AND form = ?2";
        let mut statement = self.tx.prepare_cached(sql)?;
        Ok(statement
            .query_row([self.key, form], |row| row.get(0))
            .optional()?)
    }

    fn keep(&self, form: &str, contents: &impl Serialize) -> Result<i64, DeliveryError> {
        let body = serde_json::to_string(contents)
            .map_err(|e| DeliveryError::Unknown(format!("contents that are no JSON: {e}")))?;
        let sql = "INSERT INTO contents (digest, form, body) VALUES (?1, ?2, ?3)";
        self.tx.execute(sql, [self.key, form, &body])?;
        Ok(self.tx.last_insert_rowid())
    }

    fn insert(&mut self, row: New<'_>) -> Result<(), DeliveryError> {
        let recipient = row.address.to_lowercase();
        let mark = self.store_key.mark(self.key, &recipient, row.channel);
        let inserted = self
            .tx
            .prepare_cached(
                "INSERT INTO deliveries (digest, channel, recipient, address, name, reader,
                     contents, mark, state, answer, due_at)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)
                 ON CONFLICT (digest, recipient, channel) DO NOTHING",
            )?
            .execute(params![
                self.key,
                row.channel.name(),
                recipient,
                row.address,
                row.name,
                row.reader,
                row.contents,
                mark,
                row.state.name(),
                row.answer,
                self.now.timestamp(),
            ])?;
        match inserted {
            0 => self.queued.before += 1,
            _ => self.queued.new += 1,
        }
        Ok(())
    }
}

fn words(standing: Standing) -> &'static str {
    match standing {
        Standing::Reads => "reading",
        Standing::Paused => "paused",
        Standing::Left => "off the list at their own wish",
    }
}
