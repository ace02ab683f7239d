//! What ran when, and what came of it.

use super::schedule::{Due, Job, Timetable, is_of_a_wrong_clock};
use super::tables::TablesError;
use chrono::{DateTime, SecondsFormat, Utc};
use rusqlite::{Connection, OptionalExtension, Row, params};

/// What came of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// It is going on.
    UnderWay,
    /// All was done.
    Done,
    /// It did its work, with what the keeper is told of.
    Troubled,
    /// It did not do its work.
    Failed,
    /// The service stopped or died meanwhile.
    Interrupted,
}

impl Outcome {
    /// All of them.
    pub const ALL: [Outcome; 5] = [
        Outcome::UnderWay,
        Outcome::Done,
        Outcome::Troubled,
        Outcome::Failed,
        Outcome::Interrupted,
    ];

    /// As the tables write it.
    pub fn name(self) -> &'static str {
        match self {
            Outcome::UnderWay => "under-way",
            Outcome::Done => "done",
            Outcome::Troubled => "troubled",
            Outcome::Failed => "failed",
            Outcome::Interrupted => "interrupted",
        }
    }
}

/// A run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// Its number.
    pub id: i64,
    /// What ran, and for which time.
    pub due: Due,
    /// How often it was begun.
    pub attempts: u32,
    /// When it was begun last.
    pub started: DateTime<Utc>,
    /// When it ended.
    pub ended: Option<DateTime<Utc>>,
    /// What came of it.
    pub outcome: Outcome,
    /// The step that it reached.
    pub step: String,
    /// What is to be known of it, in one sentence; may be empty.
    pub sentence: String,
}

/// A run that a stop or a crash broke into is begun again so often in all: one that takes the
/// service down each time must not do so for ever.
const ATTEMPTS: u32 = 3;

/// The last so many runs are kept.
const KEPT: i64 = 5000;

/// Up to when the job's times are accounted for: `now`, where the service has never run, or where a
/// clock that had run far ahead did the counting.
///
/// # Errors
/// [`TablesError`].
pub fn counted_until(
    conn: &Connection,
    job: Job,
    now: DateTime<Utc>,
) -> Result<DateTime<Utc>, TablesError> {
    let mut statement = conn.prepare_cached("SELECT counted_until FROM jobs WHERE job = ?1")?;
    let known = statement.query_row([job.name()], |row| instant(row, 0));
    if let Some(until) = known.optional()?
        && !is_of_a_wrong_clock(until, now)
    {
        return Ok(until);
    }
    count_until(conn, job, now)?;
    Ok(now)
}

/// Begins the run that is due, or that was interrupted and for which no later time has come.
///
/// # Errors
/// [`TablesError`]; then no run was begun.
pub fn begin_next(
    conn: &mut Connection,
    timetable: &Timetable,
    now: DateTime<Utc>,
) -> Result<Option<(i64, Due)>, TablesError> {
    for job in Job::ALL {
        let until = counted_until(conn, job, now)?;
        if let Some(due) = timetable.due(job, until, now)
            && let Some(id) = begin(conn, due, now)?
        {
            return Ok(Some((id, due)));
        }
        if let Some(run) = interrupted(conn, job)? {
            begin_again(conn, run.id, now)?;
            return Ok(Some((run.id, run.due)));
        }
    }
    Ok(None)
}

fn count_until(conn: &Connection, job: Job, until: DateTime<Utc>) -> Result<(), TablesError> {
    conn.execute(
        "INSERT INTO jobs (job, counted_until) VALUES (?1, ?2) \
         ON CONFLICT (job) DO UPDATE SET counted_until = ?2",
        params![job.name(), written(until)],
    )?;
    Ok(())
}

/// Writes down that a run begins, and that its time is accounted for, both or neither. None where
/// that time had its run already.
fn begin(conn: &mut Connection, due: Due, now: DateTime<Utc>) -> Result<Option<i64>, TablesError> {
    let tx = conn.transaction()?;
    let at = written(due.scheduled_for);
    count_until(&tx, due.job, due.scheduled_for)?;
    let new = tx.execute(
        "INSERT OR IGNORE INTO runs (job, scheduled_for, first_missed, started, outcome) \
         VALUES (?1, ?2, ?3, ?4, ?5)",
        params![
            due.job.name(),
            at,
            due.first_missed.map(written),
            written(now),
            Outcome::UnderWay.name()
        ],
    )?;
    let id = (new == 1).then(|| tx.last_insert_rowid());
    tx.execute(
        "DELETE FROM runs WHERE id <= ?1 - ?2",
        params![id.unwrap_or(0), KEPT],
    )?;
    tx.commit()?;
    Ok(id)
}

/// The step that a run has reached.
///
/// # Errors
/// [`TablesError`].
pub fn reach(conn: &Connection, id: i64, step: &str) -> Result<(), TablesError> {
    conn.execute("UPDATE runs SET step = ?2 WHERE id = ?1", params![id, step])?;
    Ok(())
}

/// What came of a run.
///
/// # Errors
/// [`TablesError`].
pub fn end(
    conn: &Connection,
    id: i64,
    outcome: Outcome,
    sentence: &str,
    now: DateTime<Utc>,
) -> Result<(), TablesError> {
    conn.execute(
        "UPDATE runs SET outcome = ?2, sentence = ?3, ended = ?4 WHERE id = ?1",
        params![id, outcome.name(), sentence, written(now)],
    )?;
    Ok(())
}

/// Runs that were going on when the last service died are interrupted. For whoever holds the lock.
///
/// # Errors
/// [`TablesError`].
pub fn interrupt_those_under_way(
    conn: &Connection,
    now: DateTime<Utc>,
) -> Result<usize, TablesError> {
    let rows = conn.execute(
        "UPDATE runs SET outcome = ?1, ended = ?2, sentence = ?3 WHERE outcome = ?4",
        params![
            Outcome::Interrupted.name(),
            written(now),
            "The service ended in the middle of it.",
            Outcome::UnderWay.name()
        ],
    )?;
    Ok(rows)
}

/// The job's last run, if it was interrupted and may be begun again.
fn interrupted(conn: &Connection, job: Job) -> Result<Option<Run>, TablesError> {
    let last = last_of(conn, job)?;
    Ok(last.filter(|r| r.outcome == Outcome::Interrupted && r.attempts < ATTEMPTS))
}

/// Begins an interrupted run again.
fn begin_again(conn: &Connection, id: i64, now: DateTime<Utc>) -> Result<(), TablesError> {
    conn.execute(
        "UPDATE runs SET attempts = attempts + 1, started = ?2, ended = NULL, sentence = '', \
         outcome = ?3 WHERE id = ?1",
        params![id, written(now), Outcome::UnderWay.name()],
    )?;
    Ok(())
}

const COLUMNS: &str = "id, job, scheduled_for, first_missed, attempts, started, ended, outcome, \
    step, sentence";

/// The last runs, the latest first.
///
/// # Errors
/// [`TablesError`].
pub fn last(conn: &Connection, most: u32) -> Result<Vec<Run>, TablesError> {
    let query = format!("SELECT {COLUMNS} FROM runs ORDER BY id DESC LIMIT ?1");
    let mut statement = conn.prepare_cached(&query)?;
    let rows = statement.query_map([most], run)?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// The job's last run.
///
/// # Errors
/// [`TablesError`].
pub fn last_of(conn: &Connection, job: Job) -> Result<Option<Run>, TablesError> {
    let query = format!("SELECT {COLUMNS} FROM runs WHERE job = ?1 ORDER BY id DESC LIMIT 1");
    let mut statement = conn.prepare_cached(&query)?;
    Ok(statement.query_row([job.name()], run).optional()?)
}

/// When the job last did its work.
///
/// # Errors
/// [`TablesError`].
pub fn last_done(conn: &Connection, job: Job) -> Result<Option<DateTime<Utc>>, TablesError> {
    let mut statement = conn.prepare_cached(
        "SELECT ended FROM runs WHERE job = ?1 AND outcome IN (?2, ?3) \
         ORDER BY id DESC LIMIT 1",
    )?;
    let [done, troubled] = [Outcome::Done, Outcome::Troubled].map(Outcome::name);
    let last = statement.query_row([job.name(), done, troubled], |row| instant(row, 0));
    Ok(last.optional()?)
}

fn run(row: &Row<'_>) -> rusqlite::Result<Run> {
    Ok(Run {
        id: row.get(0)?,
        due: Due {
            job: job(row, 1)?,
            scheduled_for: instant(row, 2)?,
            first_missed: instant_or_none(row, 3)?,
        },
        attempts: row.get(4)?,
        started: instant(row, 5)?,
        ended: instant_or_none(row, 6)?,
        outcome: outcome(row, 7)?,
        step: row.get(8)?,
        sentence: row.get(9)?,
    })
}

fn job(row: &Row<'_>, column: usize) -> rusqlite::Result<Job> {
    let text: String = row.get(column)?;
    Job::of(&text).ok_or_else(|| unknown(column, &text))
}

fn outcome(row: &Row<'_>, column: usize) -> rusqlite::Result<Outcome> {
    let text: String = row.get(column)?;
    let mut all = Outcome::ALL.into_iter();
    all.find(|o| o.name() == text)
        .ok_or_else(|| unknown(column, &text))
}

fn unknown(column: usize, text: &str) -> rusqlite::Error {
    let kind = rusqlite::types::Type::Text;
    let words = format!("{text:?} is not known here");
    rusqlite::Error::FromSqlConversionFailure(column, kind, words.into())
}

/// As the tables write an instant: the order of the texts is that of the instants.
pub(super) fn written(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Secs, true)
}

pub(super) fn instant(row: &Row<'_>, column: usize) -> rusqlite::Result<DateTime<Utc>> {
    let text: String = row.get(column)?;
    text.parse().map_err(|_| unknown(column, &text))
}

fn instant_or_none(row: &Row<'_>, column: usize) -> rusqlite::Result<Option<DateTime<Utc>>> {
    match row.get_ref(column)?.data_type() {
        rusqlite::types::Type::Null => Ok(None),
        _ => instant(row, column).map(Some),
    }
}
