//! What the service shows of itself: to people as a page, to programs as JSON and numbers. No
//! address of a recipient and no secret stands on any of them.

use super::metrics::Looked;
use super::runs::{self, Outcome, Run};
use super::schedule::Job;
use super::tables::TablesError;
use super::{Service, health, keeper};
use crate::words;
use chrono::{DateTime, Utc};
use ingest::STORE_FOLDER;
use ingest::report::grouped;
use rusqlite::Connection;
use serde::Serialize;
use serde_json::{Value, json};
use std::path::Path;

/// Runs shown.
const RUNS: u32 = 20;

/// How the service stands at one moment.
pub(super) struct Status {
    now: DateTime<Utc>,
    /// What is wrong, a sentence each.
    pub(super) reasons: Vec<String>,
    next: Vec<(Job, Option<DateTime<Utc>>)>,
    last_done: Vec<(Job, Option<DateTime<Utc>>)>,
    runs: Vec<Run>,
    deliveries: Vec<(&'static str, usize)>,
    untold: usize,
    bytes: u64,
}

impl Service {
    /// Looks at everything that is shown.
    ///
    /// # Errors
    /// [`TablesError`] where the tables cannot be read.
    pub(super) fn status(&self, conn: &Connection) -> Result<Status, TablesError> {
        let now = self.now();
        let next = Job::ALL.map(|job| (job, self.timetable.next(job, now)));
        let mut last_done = Vec::new();
        for job in Job::ALL {
            last_done.push((job, runs::last_done(conn, job)?));
        }
        let deliveries = self.deliver.by_state(conn);
        Ok(Status {
            now,
            reasons: health::reasons(conn, &self.pulse)?,
            next: next.to_vec(),
            last_done,
            runs: runs::last(conn, RUNS)?,
            deliveries: deliveries.map_err(|fault| TablesError::Deliveries(fault.sentence))?,
            untold: keeper::waiting(conn)?,
            bytes: bytes_in(&self.root.join(STORE_FOLDER)),
        })
    }

    /// The same in words.
    pub(super) fn words(&self, status: &Status) -> View {
        let zone = self.timetable.zone;
        View {
            now: words::moment(status.now, zone),
            zone: zone.to_string(),
            reasons: status.reasons.clone(),
            next: status
                .next
                .iter()
                .map(|(job, at)| self.next_view(*job, *at))
                .collect(),
            runs: status.runs.iter().map(|run| self.run_view(run)).collect(),
            deliveries: status
                .deliveries
                .iter()
                .map(|(s, n)| (*s, grouped(*n as u64)))
                .collect(),
            untold: status.untold,
            disk: disk(status.bytes),
            version: env!("CARGO_PKG_VERSION"),
        }
    }

    fn next_view(&self, job: Job, at: Option<DateTime<Utc>>) -> (&'static str, String) {
        let at = at.map(|at| words::moment(at, self.timetable.zone));
        (job_words(job), at.unwrap_or_else(|| "never".to_owned()))
    }

    fn run_view(&self, run: &Run) -> RunView {
        let zone = self.timetable.zone;
        let mut said = without_addresses(&run.sentence);
        if let Some(first) = run.due.first_missed {
            let missed = format!("Makes up for all since {}.", words::moment(first, zone));
            said = format!("{missed} {said}");
        }
        if run.attempts > 1 {
            said = format!("Begun {} times. {said}", run.attempts);
        }
        RunView {
            when: words::moment(run.due.scheduled_for, zone),
            job: job_words(run.due.job),
            outcome: outcome_words(run.outcome),
            bad: matches!(run.outcome, Outcome::Failed),
            step: (run.outcome == Outcome::UnderWay).then(|| run.step.clone()),
            said: said.trim().to_owned(),
        }
    }
}

impl Status {
    /// For programs that ask whether all is well.
    pub(super) fn health(&self) -> Value {
        let times = |all: &[(Job, Option<DateTime<Utc>>)]| -> Value {
            let times = all
                .iter()
                .map(|(job, at)| (job.name().to_owned(), json!(at.map(runs::written))));
            Value::Object(times.collect())
        };
        json!({
            "status": if self.reasons.is_empty() { "ok" } else { "failing" },
            "reasons": self.reasons,
            "last_done": times(&self.last_done),
            "next": times(&self.next),
        })
    }

    /// For programs that watch numbers.
    pub(super) fn looked(&self) -> Looked {
        let seconds = |at: &Option<DateTime<Utc>>| at.map(|at| at.timestamp());
        let both = self.last_done.iter().zip(&self.next);
        Looked {
            healthy: self.reasons.is_empty(),
            jobs: both
                .map(|((job, last), (_, next))| (job.name(), seconds(last), seconds(next)))
                .collect(),
            deliveries: self.deliveries.clone(),
            untold: self.untold,
            bytes: self.bytes,
        }
    }
}

/// How the service stands, in words.
#[derive(Debug, Serialize)]
pub(super) struct View {
    now: String,
    zone: String,
    reasons: Vec<String>,
    next: Vec<(&'static str, String)>,
    runs: Vec<RunView>,
    deliveries: Vec<(&'static str, String)>,
    untold: usize,
    disk: String,
    version: &'static str,
}

#[derive(Debug, Serialize)]
struct RunView {
    when: String,
    job: &'static str,
    outcome: &'static str,
    bad: bool,
    step: Option<String>,
    said: String,
}

fn job_words(job: Job) -> &'static str {
    match job {
        Job::Load => "Load",
        Job::Digest => "Digest",
    }
}

fn outcome_words(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::UnderWay => "under way",
        Outcome::Done => "done",
        Outcome::Troubled => "done, with trouble",
        Outcome::Failed => "not done",
        Outcome::Interrupted => "interrupted",
    }
}

/// A sentence without the mail addresses in it: a server's answer may name a recipient.
fn without_addresses(sentence: &str) -> String {
    let hidden = |word: &str| match word.contains('@') {
        true => "(an address)".to_owned(),
        false => word.to_owned(),
    };
    let words: Vec<String> = sentence.split(' ').map(hidden).collect();
    words.join(" ")
}

/// What the files of a folder take; those that go meanwhile count nothing.
fn bytes_in(folder: &Path) -> u64 {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    entries
        .filter_map(|entry| entry.metadata().ok())
        .filter(|about| about.is_file())
        .map(|about| about.len())
        .sum()
}

fn disk(bytes: u64) -> String {
    match bytes.div_ceil(1 << 20) {
        0 | 1 => "less than 1 MiB".to_owned(),
        mib => words::plain_spaces(&format!("{} MiB", grouped(mib))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_address_is_shown() {
        let said = "550 <reader@skerrow.example>: no such mailbox";
        assert_eq!(without_addresses(said), "550 (an address) no such mailbox");
    }

    #[test]
    fn disk_use_is_told_in_words() {
        assert_eq!(disk(17), "less than 1 MiB");
        assert_eq!(disk(3_000_000), "3 MiB");
    }
}
