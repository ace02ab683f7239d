//! Deliveries: a digest to each recipient by each channel, as rows that outlive a restart.
//!
//! A delivery is made at least once. It is marked as being sent before the receiver sees any of it
//! and as sent after the receiver took it; where the program ends between the two, nobody can tell
//! whether it arrived, and it goes out again under the same Message-ID (of a webhook, the same
//! webhook-id), by which a receiver drops the second copy. A session takes no message before its
//! last one is recorded, so at most one a session is in doubt.

pub mod backoff;
mod contents;
mod error;
pub mod key;
pub mod leave;
mod queue;
pub mod readers;
mod record;
pub mod returned;
pub mod rows;
mod send;

pub use contents::{Chart, MailContents, WebhookContents};
pub use error::DeliveryError;
pub use queue::{Outgoing, Queued, queue};
pub use rows::State;
pub(crate) use send::writing;
pub use send::{Counts, Hands, SendReport, send_due};

/// A way by which digests go out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Channel {
    /// Mail, by the server of `[mail]`.
    Mail,
    /// A post to an address of `[[webhook]]`.
    Webhook,
}

impl Channel {
    /// As the tables and the JSON write it.
    pub fn name(self) -> &'static str {
        match self {
            Channel::Mail => "mail",
            Channel::Webhook => "webhook",
        }
    }

    /// Reads [`Channel::name`].
    fn of(name: &str) -> Result<Self, DeliveryError> {
        let known = [Channel::Mail, Channel::Webhook].into_iter();
        let mut found = known.filter(|c| c.name() == name);
        found
            .next()
            .ok_or_else(|| DeliveryError::Unknown(format!("the channel {name:?}")))
    }
}
