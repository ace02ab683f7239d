//! The one writer of what sessions do: all that is waiting is committed together.

use super::readers::{self, Standing};
use super::{DeliveryError, State};
use rusqlite::{Connection, ErrorCode, TransactionBehavior, params};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use tokio::sync::oneshot;

/// What became of a try.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Outcome {
    /// The receiver took it.
    Sent,
    /// It is tried again then.
    Later {
        /// Seconds since 1970.
        due_at: i64,
        /// It may have arrived.
        in_doubt: bool,
    },
    /// It is not tried again.
    Refused {
        /// There is no such mailbox, so the reader is paused.
        no_mailbox: bool,
    },
}

/// A try that is over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Settled {
    pub id: i64,
    pub outcome: Outcome,
    pub answer: String,
    pub at: i64,
}

/// A try that begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Taken {
    pub id: i64,
    pub session: u32,
    pub at: i64,
}

/// What a session wants recorded before it goes on.
#[derive(Debug, Default)]
pub(super) struct Step {
    pub settled: Option<Settled>,
    pub taken: Option<Taken>,
}

struct Job {
    step: Step,
    done: oneshot::Sender<bool>,
}

/// A step that cannot be recorded; why is what [`Recorder::finish`] tells.
#[derive(Debug)]
pub(super) struct Unrecorded;

/// The writer, on a thread of its own.
pub(super) struct Recorder {
    jobs: mpsc::Sender<Job>,
    thread: JoinHandle<Result<(), DeliveryError>>,
}

/// A session's end of the writer.
#[derive(Clone)]
pub(super) struct Pen(mpsc::Sender<Job>);

/// A step under way.
pub(super) struct Committing(oneshot::Receiver<bool>);

impl Recorder {
    /// Starts the writer.
    pub fn start(conn: Connection) -> Self {
        let (jobs, queue) = mpsc::channel();
        let thread = std::thread::spawn(move || write(conn, queue));
        Recorder { jobs, thread }
    }

    /// For a session.
    pub fn pen(&self) -> Pen {
        Pen(self.jobs.clone())
    }

    /// Ends the writer after its last step.
    pub fn finish(self) -> Result<(), DeliveryError> {
        drop(self.jobs);
        self.thread.join().expect("the writer does not panic")
    }
}

impl Pen {
    /// Hands a step to the writer.
    pub fn step(&self, settled: Option<Settled>, taken: Option<Taken>) -> Committing {
        let (done, committed) = oneshot::channel();
        let step = Step { settled, taken };
        // a writer that is gone answers nothing, which is seen when the answer is waited for
        let _ = self.0.send(Job { step, done });
        Committing(committed)
    }
}

impl Committing {
    /// Waits until the step is in the tables, where a killed program leaves it; gives whether the delivery was still there to be
    /// taken.
    pub async fn done(self) -> Result<bool, Unrecorded> {
        self.0.await.map_err(|_| Unrecorded)
    }
}

/// What is in the tables outlives the program. That it outlives the machine as well takes the disk
/// several milliseconds, in which a mail server takes several mails; so that is waited for once in a
/// while. A machine that loses its power sends what it sent since then again, under the same
/// Message-ID, and loses nothing.
const UNSAFE_FOR: Duration = Duration::from_secs(1);

fn write(mut conn: Connection, queue: mpsc::Receiver<Job>) -> Result<(), DeliveryError> {
    conn.pragma_update(None, "synchronous", "normal")?;
    let mut unsafe_since: Option<Instant> = None;
    loop {
        let patience = unsafe_since.map(|since| UNSAFE_FOR.saturating_sub(since.elapsed()));
        let first = match patience {
            Some(patience) => queue.recv_timeout(patience),
            None => queue.recv().map_err(|_| RecvTimeoutError::Disconnected),
        };
        match first {
            Ok(first) => {
                together(&mut conn, first, &queue)?;
                unsafe_since.get_or_insert_with(Instant::now);
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return make_safe(&conn),
        }
        if unsafe_since.is_some_and(|since| since.elapsed() >= UNSAFE_FOR) {
            make_safe(&conn)?;
            unsafe_since = None;
        }
    }
}

/// Everything that waits, in one transaction.
fn together(
    conn: &mut Connection,
    first: Job,
    queue: &mpsc::Receiver<Job>,
) -> Result<(), DeliveryError> {
    let jobs: Vec<Job> = std::iter::once(first).chain(queue.try_iter()).collect();
    let taken = patiently(conn, &jobs)?;
    for (job, taken) in jobs.into_iter().zip(taken) {
        // a session that no longer waits was dropped with its whole run
        let _ = job.done.send(taken);
    }
    Ok(())
}

/// Puts the log on the disk, and what it says into the tables' own file.
fn make_safe(conn: &Connection) -> Result<(), DeliveryError> {
    let sql = "PRAGMA wal_checkpoint(PASSIVE)";
    match conn.query_row(sql, [], |_| Ok(())).map_err(Fault::from) {
        // the log goes on holding it
        Ok(()) | Err(Fault::Full) => Ok(()),
        Err(Fault::Other(error)) => Err(error),
    }
}

/// Full disks are waited for: what was sent and is not recorded would go out twice.
const LOOKS_FOR_ROOM: u32 = 60;
const BETWEEN_LOOKS: Duration = Duration::from_millis(500);

fn patiently(conn: &mut Connection, jobs: &[Job]) -> Result<Vec<bool>, DeliveryError> {
    for _ in 0..LOOKS_FOR_ROOM {
        match commit(conn, jobs) {
            Err(Fault::Full) => make_room(conn),
            Err(Fault::Other(error)) => return Err(error),
            Ok(taken) => return Ok(taken),
        }
    }
    let lost = jobs.iter().filter(|j| j.step.settled.is_some()).count();
    Err(DeliveryError::Full(lost))
}

/// Lets the log begin anew in the room that it has already.
fn make_room(conn: &Connection) {
    // where this fails, the next look finds out
    let done = conn.query_row("PRAGMA wal_checkpoint(RESTART)", [], |row| {
        row.get::<_, i64>(0)
    });
    if !matches!(done, Ok(0)) {
        std::thread::sleep(BETWEEN_LOOKS);
    }
}

enum Fault {
    Full,
    Other(DeliveryError),
}

impl From<rusqlite::Error> for Fault {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            // a log that cannot grow is told as an error of writing
            Some(ErrorCode::DiskFull | ErrorCode::SystemIoFailure) => Fault::Full,
            _ => Fault::Other(error.into()),
        }
    }
}

impl From<DeliveryError> for Fault {
    fn from(error: DeliveryError) -> Self {
        use crate::service::tables::TablesError;
        match error {
            DeliveryError::Tables(TablesError::Damaged(error)) => error.into(),
            other => Fault::Other(other),
        }
    }
}

fn commit(conn: &mut Connection, jobs: &[Job]) -> Result<Vec<bool>, Fault> {
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let mut taken = Vec::with_capacity(jobs.len());
    for job in jobs {
        if let Some(settled) = &job.step.settled {
            settle(&tx, settled)?;
        }
        taken.push(match job.step.taken {
            Some(one) => take(&tx, one)?,
            None => false,
        });
    }
    tx.commit()?;
    Ok(taken)
}

fn take(conn: &Connection, taken: Taken) -> Result<bool, Fault> {
    // whoever left, was abandoned or taken meanwhile stays as they are
    let changed = conn
        .prepare_cached(
            "UPDATE deliveries SET state = 'sending', session = ?2, tries = tries + 1, tried_at = ?3
             WHERE id = ?1 AND state = 'waiting'",
        )?
        .execute(params![taken.id, taken.session, taken.at])?;
    Ok(changed == 1)
}

fn settle(conn: &Connection, settled: &Settled) -> Result<(), Fault> {
    let (state, due_at, in_doubt) = match settled.outcome {
        Outcome::Sent => (State::Sent, settled.at, false),
        Outcome::Later { due_at, in_doubt } => (State::Waiting, due_at, in_doubt),
        Outcome::Refused { .. } => (State::Refused, settled.at, false),
    };
    conn.prepare_cached(
        // who left while a try was under way is not tried again
        "UPDATE deliveries SET
             state = CASE WHEN ?2 = 'waiting' AND EXISTS (
                 SELECT 1 FROM readers WHERE readers.id = reader AND readers.state != 'reads'
             ) THEN 'paused' ELSE ?2 END,
             due_at = ?3, in_doubt = in_doubt + ?4, answer = ?5, tried_at = ?6, session = NULL
         WHERE id = ?1",
    )?
    .execute(params![
        settled.id,
        state.name(),
        due_at,
        in_doubt,
        settled.answer,
        settled.at,
    ])?;
    let left = matches!(settled.outcome, Outcome::Refused { no_mailbox: true });
    if left {
        pause(conn, settled)?;
    }
    Ok(())
}

fn pause(conn: &Connection, settled: &Settled) -> Result<(), Fault> {
    let sql = "SELECT reader FROM deliveries WHERE id = ?1";
    let reader: Option<i64> = conn.query_row(sql, [settled.id], |row| row.get(0))?;
    if let Some(reader) = reader {
        let why = format!("the mail server says: {}", settled.answer);
        readers::put_away(conn, reader, Standing::Paused, &why, settled.at)?;
    }
    Ok(())
}
