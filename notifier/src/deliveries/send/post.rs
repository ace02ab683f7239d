//! Webhooks: each has its own pace, and its posts go one after another.

use super::super::record::{Pen, Settled, Taken, Unrecorded};
use super::super::{DeliveryError, WebhookContents};
use super::due::{self, Due};
use super::pace::Pace;
use super::{Later, Run};
use crate::channel::webhook::Post;
use crate::service::tables;
use config::service::Webhook;
use config::settings::Workspace;
use ingest::fetch::NotTaken;
use std::sync::Arc;
use tokio::task::JoinSet;

/// Numbers of their sessions, beyond those of mail.
const FIRST_SESSION: u32 = 1000;

pub(super) async fn send(
    workspace: &Workspace,
    due: Vec<Due>,
    run: &Arc<Run>,
    pen: Pen,
) -> Result<(), DeliveryError> {
    let mut tasks = JoinSet::new();
    for (number, webhook) in (FIRST_SESSION..).zip(&workspace.webhooks) {
        let id = webhook.id.to_lowercase();
        let own: Vec<Due> = due.iter().filter(|d| d.recipient == id).cloned().collect();
        if own.is_empty() {
            continue;
        }
        match ready(workspace, webhook, own)? {
            Ok((post, posts)) => {
                let pace = Pace::per_minute(Some(webhook.per_minute));
                let (run, pen) = (Arc::clone(run), pen.clone());
                tasks.spawn(all(run, pen, (number, post, pace), posts));
            }
            Err(why) => run.fault(why),
        }
    }
    while let Some(ended) = tasks.join_next().await {
        // where a step could not be recorded, the writer tells why
        let _ = ended.expect("a webhook's task does not panic");
    }
    Ok(())
}

type Posts = Vec<(Due, WebhookContents)>;

fn ready(
    workspace: &Workspace,
    webhook: &Webhook,
    due: Vec<Due>,
) -> Result<Result<(Post, Posts), String>, DeliveryError> {
    let post = match Post::of(webhook) {
        Ok(post) => post,
        Err(why) => return Ok(Err(why)),
    };
    let conn = tables::open(&workspace.root)?;
    let mut posts = Vec::with_capacity(due.len());
    for one in due {
        let (contents, _) = due::contents(&conn, one.contents)?;
        posts.push((one, contents));
    }
    Ok(Ok((post, posts)))
}

async fn all(
    run: Arc<Run>,
    pen: Pen,
    (session, post, pace): (u32, Post, Pace),
    posts: Posts,
) -> Result<(), Unrecorded> {
    for (due, contents) in posts {
        if !pace.turn(&run.hands).await {
            break;
        }
        let at = run.now();
        let id = due.id;
        if !pen
            .step(None, Some(Taken { id, session, at }))
            .done()
            .await?
        {
            continue;
        }
        let sent = post.send(&contents, &due.mark, (run.hands.clock)()).await;
        let settled = settle(&run, &due, sent);
        pen.step(Some(settled), None).done().await?;
    }
    Ok(())
}

fn settle(run: &Run, due: &Due, sent: Result<u16, NotTaken>) -> Settled {
    let tried = (due.id, due.tries + 1);
    match sent {
        Ok(status) => run.sent(due.id, status.to_string()),
        Err(NotTaken::ForGood { why }) => run.refused(due.id, why, false),
        Err(NotTaken::ForNow { why, after }) => {
            let more = Later {
                asked: after,
                in_doubt: false,
            };
            run.later(tried, why, more)
        }
        Err(NotTaken::Unanswered { why }) => {
            let more = Later {
                asked: None,
                in_doubt: true,
            };
            run.later(tried, format!("{why}: it may have arrived"), more)
        }
    }
}
