//! Sends the mails about subscriptions that wait.

use super::letters::{self, Ready};
use super::{SubscribersError, rows};
use crate::channel::letter::{self, Writing};
use crate::channel::smtp::{NotSent, Server, Session};
use crate::deliveries;
use crate::deliveries::key::StoreKey;
use crate::service::tables;
use chrono::{DateTime, Utc};
use config::settings::Workspace;

/// Sends what is due; gives how many went out. What does not go out waits for its next try, and no
/// address is told of in what is logged.
///
/// # Errors
/// [`SubscribersError`] where the tables or the settings cannot be used.
pub async fn send(workspace: &Workspace, now: DateTime<Utc>) -> Result<usize, SubscribersError> {
    let taken = workspace.clone();
    let ready = blocking(move || {
        let conn = tables::open(&taken.root)?;
        rows::forget_unconfirmed(&conn, now.timestamp())?;
        let key = StoreKey::open(&taken.root)?;
        letters::take(&conn, &taken, &key, now.timestamp())
    });
    let ready = ready.await?;
    let (Some(settings), false) = (&workspace.mail, ready.is_empty()) else {
        return Ok(0);
    };
    let writing = deliveries::writing(workspace)?.map_err(SubscribersError::Settings)?;
    let server = Server::of(settings).map_err(SubscribersError::Settings)?;
    let Ok(mut session) = server.open().await else {
        tracing::warn!("mails about subscriptions wait: the mail server cannot be reached");
        return Ok(0);
    };
    let mut sent = 0;
    for one in &ready {
        if !session.is_usable() {
            break; // the rest has its next try
        }
        if send_one(workspace, (one, now), &writing, &mut session).await? {
            sent += 1;
        }
    }
    session.close().await;
    Ok(sent)
}

async fn send_one(
    workspace: &Workspace,
    (one, now): (&Ready, DateTime<Utc>),
    writing: &Writing,
    session: &mut Session,
) -> Result<bool, SubscribersError> {
    let both = (workspace.digest.from.as_str(), one.to.as_str());
    let went = match letter::note(both, &one.subject, &one.text, now, writing) {
        Err(_) => Went::Never,
        Ok(note) => match session.send(&note).await {
            Ok(_) => Went::Out,
            Err(NotSent::ForGood { .. }) => Went::Never,
            Err(_) if one.tries >= letters::TRIES => Went::Never,
            Err(_) => Went::Later,
        },
    };
    if went == Went::Later {
        tracing::warn!("a mail about a subscription waits for its next try");
        return Ok(false);
    }
    if went == Went::Never {
        tracing::warn!("a mail about a subscription was refused, and is not tried again");
    }
    let (root, id) = (workspace.root.clone(), one.id);
    let recorded = blocking(move || letters::done(&tables::open(&root)?, id, now.timestamp()));
    recorded.await?;
    Ok(went == Went::Out)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Went {
    Out,
    Later,
    Never,
}

/// The tables are files, which tokio's own threads must not wait for.
pub(crate) async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, SubscribersError> + Send + 'static,
) -> Result<T, SubscribersError> {
    let done = tokio::task::spawn_blocking(work).await;
    done.unwrap_or_else(|_| Err(tables::TablesError::BrokenOff.into()))
}
