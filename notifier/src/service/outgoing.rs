//! The ways by which digests and notes go out, as the service asks of them.

use super::deliver::{Clock, Deliver, Later, Sent};
use super::retry::{Fault, Kind, kind_of};
use super::stop::Stop;
use crate::channel;
use crate::deliveries::leave::{LeavePage, router};
use crate::deliveries::rows::{State, by_state};
use crate::deliveries::{self, DeliveryError, Hands, Outgoing};
use crate::guard::rate::{self, Counted};
use crate::subscribers::{pages, posting};
use chrono::{DateTime, Utc};
use config::settings::Workspace;
use rusqlite::Connection;
use std::path::Path;
use std::sync::Arc;

/// Mail and webhooks.
#[derive(Debug, Clone, Copy)]
pub struct Channels;

impl Channels {
    /// Pages that readers come to from a mail.
    pub fn pages(dir: &Path, workspace: &Workspace, clock: &Clock) -> axum::Router {
        let counted = Counted {
            proxy_header: workspace.service.proxy_header.clone(),
        };
        let leave = router(LeavePage {
            root: workspace.root.clone(),
            title: workspace.digest.title.clone(),
            keeper: workspace.keeper.clone(),
            clock: Arc::clone(clock),
        });
        let own = pages::Pages::new(dir, Arc::clone(clock));
        rate::bounded(leave, rate::FORMS, &counted).merge(pages::router(own, &counted))
    }
}

impl Deliver for Channels {
    fn queue(
        &self,
        conn: &mut Connection,
        workspace: &Workspace,
        outgoing: Outgoing<'_>,
        now: DateTime<Utc>,
    ) -> Result<usize, Fault> {
        let queued = deliveries::queue(conn, workspace, outgoing, now).map_err(fault)?;
        Ok(queued.new)
    }

    fn send_due<'a>(
        &'a self,
        workspace: &'a Workspace,
        clock: &'a Clock,
        stop: &'a Stop,
    ) -> Later<'a, Result<Sent, Fault>> {
        let hands = Hands {
            clock: Arc::clone(clock),
            stop: stop.flag(),
        };
        Box::pin(async move {
            if let Err(why) = posting::send(workspace, (hands.clock)()).await {
                tracing::error!("mails about subscriptions wait: {why}");
            }
            let report = deliveries::send_due(workspace, &hands)
                .await
                .map_err(fault)?;
            Ok(Sent {
                sent: report.counts.sent,
                later: report.counts.later,
                refused: report.counts.refused,
                in_doubt: report.in_doubt,
                faults: report.faults,
            })
        })
    }

    fn tell_keeper<'a>(
        &'a self,
        workspace: &'a Workspace,
        note: (&'a str, &'a str),
        now: DateTime<Utc>,
    ) -> Later<'a, Result<(), String>> {
        Box::pin(async move {
            let Some(keeper) = workspace.keeper.as_deref().filter(|k| k.contains('@')) else {
                let none = "wingtide.toml names no keeper with a mail address in [workspace]";
                return Err(none.to_owned());
            };
            channel::tell(workspace, keeper, note, now).await
        })
    }

    fn by_state(&self, conn: &Connection) -> Result<Vec<(&'static str, usize)>, Fault> {
        let counts = by_state(conn, None).map_err(fault)?;
        let named = counts
            .into_iter()
            .map(|(state, n): (State, usize)| (state.name(), n));
        Ok(named.collect())
    }
}

fn fault(error: DeliveryError) -> Fault {
    let kind = match &error {
        DeliveryError::Busy => Kind::Busy,
        DeliveryError::Full(_) => Kind::Outside,
        DeliveryError::Tables(tables) => kind_of(tables),
        DeliveryError::Disk { cause, .. } => kind_of(cause),
        _ => Kind::Lasting,
    };
    Fault {
        kind,
        sentence: error.to_string(),
    }
}
