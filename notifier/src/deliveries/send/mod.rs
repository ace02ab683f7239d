//! Sends what is due, by all channels at once; each delivery succeeds or fails alone.

mod due;
mod mail;
mod pace;
mod post;

pub(crate) use mail::writing;

use super::record::{Outcome, Recorder, Settled};
use super::{DeliveryError, backoff};
use crate::service::tables;
use chrono::{DateTime, Utc};
use config::settings::Workspace;
use ingest::STORE_FOLDER;
use std::fs::{File, TryLockError};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// What a run is given from outside.
#[derive(Clone)]
pub struct Hands {
    /// What time it is.
    pub clock: Arc<dyn Fn() -> DateTime<Utc> + Send + Sync>,
    /// Set where the run is to end: what a session has begun it finishes.
    pub stop: Arc<AtomicBool>,
}

impl Hands {
    /// With a clock, and nobody who stops it.
    pub fn with_clock(clock: impl Fn() -> DateTime<Utc> + Send + Sync + 'static) -> Self {
        Hands {
            clock: Arc::new(clock),
            stop: Arc::new(AtomicBool::new(false)),
        }
    }

    fn now(&self) -> i64 {
        (self.clock)().timestamp()
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// What became of the tries of a run.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Taken by the receiver.
    pub sent: usize,
    /// To be tried again.
    pub later: usize,
    /// Refused for good, or tried as often as it is.
    pub refused: usize,
}

/// What a run did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SendReport {
    /// Of the deliveries that were tried.
    pub counts: Counts,
    /// Deliveries that an interrupted run left half done: they went out again, and may have
    /// arrived twice.
    pub in_doubt: usize,
    /// Why whole channels could not be used, a sentence each.
    pub faults: Vec<String>,
    /// When the next delivery is due, seconds since 1970.
    pub next_due: Option<i64>,
}

/// The file that whoever sends holds.
const LOCK: &str = "deliveries.lock";

/// Sends every delivery of the workspace that is due, by mail and webhooks at once, and records
/// each. Runs on tokio, with a thread of its own for the records.
///
/// # Errors
/// [`DeliveryError`] where nothing can be sent or recorded.
pub async fn send_due(workspace: &Workspace, hands: &Hands) -> Result<SendReport, DeliveryError> {
    let _held = hold(workspace)?;
    let conn = tables::open(&workspace.root)?;
    let in_doubt = due::take_back(&conn, hands.now())?;
    due::drop_unlisted(&conn, workspace)?;
    let due = due::read(&conn, hands.now())?;
    drop(conn);
    let run = Arc::new(Run {
        hands: hands.clone(),
        counts: Mutex::default(),
        faults: Mutex::default(),
    });
    let recorder = Recorder::start(tables::open(&workspace.root)?);
    let mails = mail::send(workspace, due.mails, &run, recorder.pen());
    let posts = post::send(workspace, due.posts, &run, recorder.pen());
    let (mails, posts) = tokio::join!(mails, posts);
    recorder.finish()?;
    mails.and(posts)?;
    let conn = tables::open(&workspace.root)?;
    let (counts, faults) = (*lock(&run.counts), lock(&run.faults).clone());
    Ok(SendReport {
        counts,
        in_doubt,
        faults,
        next_due: due::next(&conn)?,
    })
}

fn hold(workspace: &Workspace) -> Result<File, DeliveryError> {
    let path = workspace.root.join(STORE_FOLDER).join(LOCK);
    let failed = |doing| {
        let path = path.clone();
        move |cause| DeliveryError::Disk { path, doing, cause }
    };
    std::fs::create_dir_all(workspace.root.join(STORE_FOLDER)).map_err(failed("made"))?;
    let file = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(failed("opened"))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(DeliveryError::Busy),
        Err(TryLockError::Error(cause)) => Err(failed("locked")(cause)),
    }
}

/// What the sessions of a run share.
struct Run {
    hands: Hands,
    counts: Mutex<Counts>,
    faults: Mutex<Vec<String>>,
}

/// A poisoned lock means that a session panicked, which is told where its task is joined.
fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
}

impl Run {
    fn now(&self) -> i64 {
        self.hands.now()
    }

    fn fault(&self, why: String) {
        lock(&self.faults).push(why);
    }

    fn sent(&self, id: i64, answer: String) -> Settled {
        lock(&self.counts).sent += 1;
        self.settled(id, Outcome::Sent, answer)
    }

    fn refused(&self, id: i64, answer: String, no_mailbox: bool) -> Settled {
        lock(&self.counts).refused += 1;
        self.settled(id, Outcome::Refused { no_mailbox }, answer)
    }

    /// After so many tries, this one included: another one, unless these were all.
    fn later(&self, (id, tries): (i64, u32), answer: String, more: Later) -> Settled {
        let Some(wait) = backoff::wait(tries, more.asked) else {
            let answer = match more.asked {
                Some(asked) if tries < backoff::TRIES => {
                    let hours = asked.as_secs() / 3600;
                    format!("{answer}; it asks to wait {hours} hours, which is too long")
                }
                _ => format!("{answer}; given up after {tries} tries"),
            };
            return self.refused(id, answer, false);
        };
        lock(&self.counts).later += 1;
        let at = self.now();
        Settled {
            id,
            outcome: Outcome::Later {
                due_at: at + wait.as_secs() as i64,
                in_doubt: more.in_doubt,
            },
            answer,
            at,
        }
    }

    fn settled(&self, id: i64, outcome: Outcome, answer: String) -> Settled {
        let at = self.now();
        Settled {
            id,
            outcome,
            answer,
            at,
        }
    }
}

/// What more there is to a try that did not succeed.
#[derive(Debug, Clone, Copy, Default)]
struct Later {
    /// The wait that the receiver asks for.
    asked: Option<Duration>,
    /// It may have arrived all the same.
    in_doubt: bool,
}
