//! `wingtide load`: every source read, then all of them landed at once.

use crate::error::LoadError;
use crate::mapping;
use crate::read::gather;
use crate::report::{Kind, LoadReport, Note, SourceReport};
use crate::settle;
use crate::source::{self, Batch, DaysBySite};
use crate::store::{BatchRow, Landing, Store, StoreError, UndoneBatch};
use crate::undo;
use crate::visit::Day;
use chrono::{DateTime, Days as Span, NaiveDate, Utc};
use config::meaning::ObserverRule;
use config::settings::{Source, SourceKind, Workspace};
use std::path::Path;

/// How far the reading of a file has come.
#[derive(Debug, Clone, Copy)]
pub struct Progress<'a> {
    /// Id of the source.
    pub source: &'a str,
    /// Rows read.
    pub rows: u64,
    /// Bytes read.
    pub bytes_read: u64,
    /// Bytes of the file, as UTF-8.
    pub bytes: u64,
}

impl std::fmt::Display for Progress<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let percent = (100 * self.bytes_read)
            .checked_div(self.bytes)
            .unwrap_or(100);
        write!(f, "{}: {} rows, {percent} %", self.source, self.rows)
    }
}

/// A source, read or found unchanged.
pub(crate) struct Prepared {
    pub(crate) report: SourceReport,
    pub(crate) file_sha256: String,
    pub(crate) mapping_sha256: String,
    pub(crate) fully_reported: bool,
    pub(crate) content: Content,
}

/// Where a source's rows are.
pub(crate) enum Content {
    /// Read from its file.
    New(Box<Batch>),
    /// In the store already.
    Kept(Box<BatchRow>),
    /// Left out: its file is that of a batch that was undone.
    Withheld,
}

/// What the store knows of former loads.
#[derive(Default)]
struct Known {
    /// Batches in use.
    kept: Vec<BatchRow>,
    /// Those that were undone.
    undone: Vec<UndoneBatch>,
    /// Load files even if their batches were undone.
    again: bool,
}

/// Reads every source of the workspace and lands the accepted rows in the store, the folder
/// [`crate::STORE_FOLDER`] inside `store_root`, in one transaction. A source that changed replaces its former
/// rows; one that did not is left alone; one that `wingtide.toml` no longer lists is taken out. A file
/// whose batch was undone is left alone too, until it or its settings change.
///
/// `now` stamps what changes; rows dated more than a day after it are refused.
///
/// # Errors
///
/// Any [`LoadError`] leaves the store as it was.
pub fn load(
    workspace: &Workspace,
    store_root: &Path,
    now: DateTime<Utc>,
    progress: &mut dyn FnMut(Progress<'_>),
) -> Result<LoadReport, LoadError> {
    load_files(workspace, store_root, now, false, progress)
}

/// As [`load`], files whose batches were undone among them.
///
/// # Errors
///
/// As [`load`].
pub fn load_again(
    workspace: &Workspace,
    store_root: &Path,
    now: DateTime<Utc>,
    progress: &mut dyn FnMut(Progress<'_>),
) -> Result<LoadReport, LoadError> {
    load_files(workspace, store_root, now, true, progress)
}

fn load_files(
    workspace: &Workspace,
    store_root: &Path,
    now: DateTime<Utc>,
    again: bool,
    progress: &mut dyn FnMut(Progress<'_>),
) -> Result<LoadReport, LoadError> {
    if workspace.sources.is_empty() {
        return Err(LoadError::NoSources);
    }
    // A load that fails must not leave an empty store behind: it is made only when all is read.
    let store = Store::open_if_there(store_root)?;
    let known = Known::of(store.as_ref(), again)?;
    let mut prepared = Vec::new();
    for source in &workspace.sources {
        prepared.push(prepare(workspace, source, &known, now, progress)?);
    }
    let removed = removed(workspace, &known.kept);
    let all_kept = removed.is_empty() && prepared.iter().all(is_kept);
    let basis = settle::basis(workspace, now);
    if let Some(store) = store.as_ref().filter(|_| all_kept)
        && let Some((report, former)) = store.last_load()?
        && former == basis
    {
        return Ok(unchanged(report));
    }
    let mut store = store.map_or_else(|| Store::open(store_root), Ok)?;
    tell_changes(&mut prepared, &store, &known.kept);
    let outcome = settle::outcome(settle::Inputs {
        workspace,
        store: &store,
        prepared: &prepared,
        removed_sources: removed,
        forgotten: None,
        now,
    })?;
    store.land(Landing {
        prepared: &prepared,
        report: &outcome.report,
        decisions: &outcome.settled.new,
        basis: &basis,
        retention: &workspace.store,
        undo: None,
        now,
    })?;
    Ok(outcome.report)
}

impl Known {
    fn of(store: Option<&Store>, again: bool) -> Result<Self, StoreError> {
        let Some(store) = store else {
            return Ok(Known::default());
        };
        Ok(Known {
            kept: store.batches()?,
            undone: store.undone()?,
            again,
        })
    }

    /// The batch in use of a source.
    fn in_use(&self, source: &str) -> Option<&BatchRow> {
        self.kept.iter().find(|b| b.source == source)
    }

    /// The batch that held this very file and was undone, unless other files came since.
    fn undone(&self, source: &str, file_sha256: &str) -> Option<&UndoneBatch> {
        let before = self.in_use(source).map(|b| b.id);
        let held = |b: &&UndoneBatch| {
            b.source == source && b.file_sha256 == file_sha256 && b.replaces == before
        };
        self.undone.iter().rev().find(held)
    }
}

fn is_kept(prepared: &Prepared) -> bool {
    !matches!(prepared.content, Content::New(_))
}

fn tell_changes(prepared: &mut [Prepared], store: &Store, kept: &[BatchRow]) {
    for one in prepared {
        let former = kept.iter().find(|b| b.source == one.report.id);
        if let (Content::New(batch), Some(former)) = (&one.content, former) {
            one.report.changes = store.changes(former, batch);
        }
    }
}

fn unchanged(mut report: LoadReport) -> LoadReport {
    report.unchanged = true;
    report.removed_sources.clear();
    report.sources.iter_mut().for_each(|s| s.unchanged = true);
    report
}

fn removed(workspace: &Workspace, kept: &[BatchRow]) -> Vec<String> {
    let listed = |b: &&BatchRow| workspace.sources.iter().any(|s| s.id == b.source);
    let gone = kept.iter().filter(|b| !listed(b));
    gone.map(|b| b.source.clone()).collect()
}

fn prepare(
    workspace: &Workspace,
    source: &Source,
    known: &Known,
    now: DateTime<Utc>,
    progress: &mut dyn FnMut(Progress<'_>),
) -> Result<Prepared, LoadError> {
    let file = gather::gather(source, &mapping::file_name(workspace, source))?;
    let mapping_sha256 = mapping::fingerprint(workspace, source);
    let file_sha256 = file.sha256.clone();
    let same = |b: &&BatchRow| b.file_sha256 == file_sha256 && b.mapping_sha256 == mapping_sha256;
    let in_use = known.in_use(&source.id);
    let same = in_use.filter(same);
    let undone = known
        .undone(&source.id, &file_sha256)
        .filter(|_| same.is_none());
    if let Some(undone) = undone.filter(|b| !known.again && b.mapping_sha256 == mapping_sha256) {
        return Ok(undo::withheld(workspace, source, in_use, undone.id));
    }
    let done = |report, content| Prepared {
        report,
        file_sha256: file_sha256.clone(),
        mapping_sha256: mapping_sha256.clone(),
        fully_reported: is_fully_reported(source),
        content,
    };
    if let Some(batch) = same.filter(|b| !b.report.has_future_rows()) {
        return Ok(done(
            still(&batch.report),
            Content::Kept(Box::new(batch.clone())),
        ));
    }
    let latest = latest(now);
    let (batch, mut report) = source::read(workspace, source, latest, file, progress)?;
    report.observers = source.meaning.observers.unwrap_or_default();
    report.notes.extend(visit_notes(report.kind, &batch));
    report
        .notes
        .extend(undone.map(|b| undo::loaded_again(b.id)));
    report.notes.extend(observers_note(source, &batch));
    let as_before = |b: &&BatchRow| {
        let changes = b.report.changes;
        b.report
            == SourceReport {
                changes,
                ..report.clone()
            }
    };
    match same.filter(as_before) {
        Some(batch) => Ok(done(still(&report), Content::Kept(Box::new(batch.clone())))),
        None => Ok(done(report, Content::New(Box::new(batch)))),
    }
}

pub(crate) fn still(report: &SourceReport) -> SourceReport {
    SourceReport {
        unchanged: true,
        ..report.clone()
    }
}

/// Somewhere on Earth it is tomorrow already.
fn latest(now: DateTime<Utc>) -> NaiveDate {
    let today = now.date_naive();
    today.checked_add_days(Span::new(1)).unwrap_or(today)
}

pub(crate) fn is_fully_reported(source: &Source) -> bool {
    match &source.kind {
        SourceKind::Counts(columns) => columns.fully_reported,
        SourceKind::Visits(_) => true,
        SourceKind::Temperature(_) => false,
    }
}

/// What is to be known about rows that share a visit.
fn visit_notes(kind: Kind, batch: &Batch) -> Vec<Note> {
    let (twice, differ) = match kind {
        Kind::Visits => (
            Some("Visit dates that stand more than once, taken as one visit each"),
            "Visit dates with different efforts, which were added up",
        ),
        Kind::Counts => (
            None, // a row for each species
            "Visit dates with rows of different efforts, of which the largest stands",
        ),
        Kind::Temperature => return Vec::new(),
    };
    let days = batch.days();
    let twice = twice.and_then(|words| days_note(&days, words, |day| day.rows() > 1));
    let differ = days_note(&days, differ, Day::efforts_differ);
    twice.into_iter().chain(differ).collect()
}

/// Several observers on one visit matter only where they do, and then their rule is told.
fn observers_note(source: &Source, batch: &Batch) -> Option<Note> {
    let rule = match source.meaning.observers {
        Some(ObserverRule::Largest) => "of whom the largest count and the longest effort stand",
        Some(ObserverRule::Add) => "whose counts and efforts are added up",
        None => {
            "whose counts and efforts are added up; if they saw the same birds, write \
             observers = \"largest\" under the source. They number"
        }
    };
    days_note(
        &batch.days(),
        &format!("Visit dates with several observers, {rule}"),
        Day::parties_differ,
    )
}

fn days_note(days: &DaysBySite, words: &str, told: impl Fn(&Day) -> bool) -> Option<Note> {
    let all = days
        .iter()
        .flat_map(|(site, days)| days.iter().map(move |(date, day)| (site, date, day)));
    let told: Vec<_> = all.filter(|(_, _, day)| told(day)).collect();
    let (site, date, _) = told.first()?;
    let number = told.len();
    Some(Note {
        file: None,
        line: None,
        text: format!("{words}: {number} (first: {site}, {date})."),
    })
}
