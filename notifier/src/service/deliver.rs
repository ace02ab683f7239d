//! What the service asks of the ways by which digests go out.

use super::retry::Fault;
use super::stop::Stop;
use crate::deliveries::Outgoing;
use chrono::{DateTime, Utc};
use config::settings::Workspace;
use rusqlite::Connection;
use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;

/// What time it is.
pub type Clock = Arc<dyn Fn() -> DateTime<Utc> + Send + Sync>;

/// An answer that takes its time.
pub type Later<'a, T> = Pin<Box<dyn Future<Output = T> + Send + 'a>>;

/// What became of what was due.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sent {
    /// Taken by their receivers.
    pub sent: usize,
    /// To be tried again by themselves.
    pub later: usize,
    /// Refused for good.
    pub refused: usize,
    /// May have arrived twice.
    pub in_doubt: usize,
    /// Ways that could not be used, a sentence each.
    pub faults: Vec<String>,
}

/// The ways by which digests and notes go out.
pub trait Deliver: Send + Sync + 'static {
    /// Queues a digest under its key for all who get it, in one transaction; one that was queued
    /// under it already stays as it is. Gives how many deliveries are new.
    ///
    /// # Errors
    /// [`Fault`]; then nothing was queued.
    fn queue(
        &self,
        conn: &mut Connection,
        workspace: &Workspace,
        outgoing: Outgoing<'_>,
        now: DateTime<Utc>,
    ) -> Result<usize, Fault>;

    /// Sends what is due, and ends early, with whole messages, where the service stops.
    fn send_due<'a>(
        &'a self,
        workspace: &'a Workspace,
        clock: &'a Clock,
        stop: &'a Stop,
    ) -> Later<'a, Result<Sent, Fault>>;

    /// Mails a note to the keeper, at once and once; an error is one sentence.
    fn tell_keeper<'a>(
        &'a self,
        workspace: &'a Workspace,
        note: (&'a str, &'a str),
        now: DateTime<Utc>,
    ) -> Later<'a, Result<(), String>>;

    /// How many deliveries are in each state that any is in.
    ///
    /// # Errors
    /// [`Fault`] where the tables cannot be read.
    fn by_state(&self, conn: &Connection) -> Result<Vec<(&'static str, usize)>, Fault>;
}
