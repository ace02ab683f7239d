//! `wingtide load`: every source read, then all of them landed at once.

use crate::error::LoadError;
use crate::known::Known;
use crate::mapping;
use crate::names_kept;
use crate::read::{gather, stamp};
use crate::report::{Kind, LoadReport, Note, SourceReport};
use crate::settle;
use crate::source::{self, Batch, DaysBySite};
use crate::store::{BatchRow, Landing, SeenFile, Store, StoreError};
use crate::undo;
use crate::visit::Day;
use chrono::{DateTime, Days as Span, NaiveDate, Utc};
use config::meaning::ObserverRule;
use config::settings::{Source, SourceKind, Workspace};
use std::path::Path;
use std::sync::Arc;

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
    /// How its file looked, where that is to be kept.
    pub(crate) seen: Option<SeenFile>,
}

/// What was read from a file.
pub(crate) struct Fresh {
    pub(crate) batch: Batch,
    /// Its dated rows.
    pub(crate) days: Arc<DaysBySite>,
}

/// Where a source's rows are.
pub(crate) enum Content {
    /// Read from its file.
    New(Box<Fresh>),
    /// In the store already.
    Kept(Box<BatchRow>),
    /// Left out: its file is that of a batch that was undone.
    Withheld,
}

/// Reads every source of the workspace and lands the accepted rows in the store, the folder
/// [`crate::STORE_FOLDER`] inside `store_root`, in one transaction. A source that changed replaces its former
/// rows; one that did not is left alone; one that `wingtide.toml` no longer lists is taken out. A file
/// whose batch was undone is left alone too, until it or its settings change. Names of observers that
/// former loads kept are erased once every file is read, where the settings allow none.
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

/// As [`load`], files whose batches were undone among them; and every file is read, even where it
/// looks as it did.
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
    let mut store = Store::open_if_there(store_root)?;
    let known = Known::of(store.as_ref(), again)?;
    let mut prepared = Vec::new();
    for source in &workspace.sources {
        prepared.push(prepare(workspace, source, &known, now, progress)?);
    }
    let removed = removed(workspace, &known.kept);
    let all_kept = removed.is_empty() && prepared.iter().all(is_kept);
    let basis = settle::basis(workspace, now);
    if let Some(store) = store.as_mut().filter(|_| all_kept)
        && let Some((report, former)) = store.last_load()?
        && former == basis
    {
        store.keep_seen(prepared.iter().filter_map(|p| p.seen.as_ref()))?;
        return Ok(unchanged(report));
    }
    let store = store.map_or_else(|| Store::open(store_root), Ok)?;
    landed(workspace, store, prepared, (removed, &basis), now)
}

/// Settles what follows from all sources, and lands it with their rows.
fn landed(
    workspace: &Workspace,
    mut store: Store,
    mut prepared: Vec<Prepared>,
    (removed, basis): (Vec<String>, &str),
    now: DateTime<Utc>,
) -> Result<LoadReport, LoadError> {
    let names_erased = names_kept::clear(workspace, &mut store, &mut prepared)?;
    tell_changes(&mut prepared, &store)?;
    let mut outcome = settle::outcome(settle::Inputs {
        workspace,
        store: &store,
        prepared: &prepared,
        removed_sources: removed,
        forgotten: None,
        now,
    })?;
    outcome.report.names_erased = names_erased;
    store.land(Landing {
        prepared: &prepared,
        report: &outcome.report,
        decisions: &outcome.settled.new,
        basis,
        retention: &workspace.store,
        undo: None,
        now,
    })?;
    Ok(outcome.report)
}

fn is_kept(prepared: &Prepared) -> bool {
    !matches!(prepared.content, Content::New(_))
}

fn tell_changes(prepared: &mut [Prepared], store: &Store) -> Result<(), StoreError> {
    let kept = store.batches()?;
    for one in prepared {
        let former = kept.iter().find(|b| b.source == one.report.id);
        if let (Content::New(fresh), Some(former)) = (&one.content, former) {
            one.report.changes = store.changes(former, &fresh.batch);
        }
    }
    Ok(())
}

fn unchanged(mut report: LoadReport) -> LoadReport {
    report.unchanged = true;
    report.removed_sources.clear();
    report.names_erased = None;
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
    let mapping_sha256 = mapping::fingerprint(workspace, source);
    // before the file is read: what changes meanwhile then has another stamp
    let stamp = stamp::of(&source.path);
    let held = |file_sha256: &str| known.held(workspace, source, (file_sha256, &mapping_sha256));
    if let Some(done) = known.content_of(source, stamp.as_deref()).and_then(held) {
        return Ok(done);
    }
    let file = gather::gather(source, &mapping::file_name(workspace, source))?;
    let file_sha256 = file.sha256.clone();
    let seen = seen(source, stamp, &file_sha256);
    if let Some(done) = held(&file_sha256) {
        return Ok(Prepared { seen, ..done });
    }
    let same = known.same(source, (&file_sha256, &mapping_sha256));
    let undone = known
        .undone(&source.id, &file_sha256)
        .filter(|_| same.is_none());
    let read = source::read(workspace, source, latest(now), file, progress)?;
    let (report, fresh) = told(source, read, undone.map(|b| b.id));
    let read = Prepared {
        report,
        file_sha256,
        mapping_sha256,
        fully_reported: is_fully_reported(source),
        content: Content::New(Box::new(fresh)),
        seen,
    };
    match same.filter(|batch| tells_as_before(batch, &read.report)) {
        Some(batch) => Ok(kept_as(batch, read)),
        None => Ok(read),
    }
}

/// How the file looked from outside, so that it need not be read again while it looks so.
fn seen(source: &Source, stamp: Option<String>, file_sha256: &str) -> Option<SeenFile> {
    Some(SeenFile {
        source: source.id.clone(),
        stamp: stamp?,
        file_sha256: file_sha256.to_owned(),
    })
}

/// What was read, with what is to be known of its visits.
fn told(
    source: &Source,
    (batch, mut report): (Batch, SourceReport),
    undone: Option<i64>,
) -> (SourceReport, Fresh) {
    let days = Arc::new(batch.days());
    report.observers = source.meaning.observers.unwrap_or_default();
    report.notes.extend(visit_notes(report.kind, &days));
    report.notes.extend(undone.map(undo::loaded_again));
    report.notes.extend(observers_note(source, &days));
    (report, Fresh { batch, days })
}

/// Does a file that was read again tell what it told before?
fn tells_as_before(batch: &BatchRow, report: &SourceReport) -> bool {
    let changes = batch.report.changes;
    batch.report
        == SourceReport {
            changes,
            ..report.clone()
        }
}

/// The source as the batch in use holds it.
fn kept_as(batch: &BatchRow, read: Prepared) -> Prepared {
    Prepared {
        report: still(&read.report),
        content: Content::Kept(Box::new(batch.clone())),
        ..read
    }
}

pub(crate) fn still(report: &SourceReport) -> SourceReport {
    SourceReport {
        unchanged: true,
        ..report.clone()
    }
}

/// Somewhere on Earth it is tomorrow already.
pub(crate) fn latest(now: DateTime<Utc>) -> NaiveDate {
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
fn visit_notes(kind: Kind, days: &DaysBySite) -> Vec<Note> {
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
    let twice = twice.and_then(|words| days_note(days, words, |day| day.rows() > 1));
    let differ = days_note(days, differ, Day::efforts_differ);
    twice.into_iter().chain(differ).collect()
}

/// Several observers on one visit matter only where they do, and then their rule is told.
fn observers_note(source: &Source, days: &DaysBySite) -> Option<Note> {
    let rule = match source.meaning.observers {
        Some(ObserverRule::Largest) => "of whom the largest count and the longest effort stand",
        Some(ObserverRule::Add) => "whose counts and efforts are added up",
        None => {
            "whose counts and efforts are added up; if they saw the same birds, write \
             observers = \"largest\" under the source. They number"
        }
    };
    days_note(
        days,
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
