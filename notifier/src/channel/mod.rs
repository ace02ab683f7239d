//! The ways by which digests reach people: mail and webhooks.

pub mod letter;
pub mod secret;
pub mod signing;
pub mod smtp;
pub mod webhook;

use crate::deliveries;
use chrono::{DateTime, Utc};
use config::settings::Workspace;

/// Mails a note to one person, such as the keeper, at once and once.
///
/// # Errors
/// A sentence that says why it did not go out.
pub async fn tell(
    workspace: &Workspace,
    to: &str,
    (subject, text): (&str, &str),
    now: DateTime<Utc>,
) -> Result<(), String> {
    let Some(settings) = &workspace.mail else {
        return Err("wingtide.toml has no [mail]".to_owned());
    };
    let writing = deliveries::writing(workspace).map_err(|e| e.to_string())??;
    let from = workspace.digest.from.as_str();
    let note = letter::note((from, to), subject, text, now, &writing).map_err(|e| e.to_string())?;
    let server = smtp::Server::of(settings)?;
    let mut session = server.open().await.map_err(|none| none.why)?;
    let sent = session.send(&note).await;
    session.close().await;
    sent.map(drop).map_err(smtp::NotSent::into_words)
}
