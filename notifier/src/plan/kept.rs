//! The plan that is kept, so that a calendar that people follow knows which entry moved and
//! which was dropped: `plan.json` in the store's folder, written whole or not at all.

use super::{Plan, PlanError, Planned};
use crate::deliveries::key;
use crate::whole_file;
use chrono::{DateTime, NaiveDate, Utc};
use ingest::STORE_FOLDER;
use serde::{Deserialize, Serialize};
use std::io;
use std::path::{Path, PathBuf};

/// The file in the store's folder.
pub const FILE: &str = "plan.json";
/// Its version; another one is not read.
const VERSION: u32 = 1;

/// A visit that was planned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Never changes, whatever the entry is moved to.
    pub uid: String,
    /// Rises when it moves or is dropped (RFC 5545, 3.8.7.4).
    pub sequence: u32,
    /// Site id.
    pub site: String,
    /// Local date.
    pub date: NaiveDate,
    /// When it begins; None where no time is known.
    pub begin: Option<DateTime<Utc>>,
    /// When it is over.
    pub end: Option<DateTime<Utc>>,
    /// It was dropped.
    pub cancelled: bool,
    /// When it was changed last.
    pub changed: DateTime<Utc>,
    /// What it is for, in words.
    #[serde(default)]
    pub words: String,
}

/// What is kept.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Kept {
    /// The visits, in order of date.
    pub entries: Vec<Entry>,
    /// What may be told of them, plan by plan; an earlier version kept nothing of it.
    pub plans: Vec<Plan>,
}

impl Entry {
    /// Without a time: it takes its whole day.
    pub fn without_time(self) -> Self {
        Entry {
            begin: None,
            end: None,
            ..self
        }
    }
}

#[derive(Debug, Serialize, Deserialize)]
struct File {
    version: u32,
    entries: Vec<Entry>,
    #[serde(default)]
    plans: Vec<Plan>,
}

/// Where the plan of a workspace is kept.
pub fn place(workspace_root: &Path) -> PathBuf {
    workspace_root.join(STORE_FOLDER).join(FILE)
}

/// What was planned before; nothing where no plan was kept.
///
/// # Errors
/// [`PlanError::Kept`] for a file that does not read.
pub fn read(workspace_root: &Path) -> Result<Kept, PlanError> {
    let path = place(workspace_root);
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Kept::default()),
        Err(e) => {
            let cause = e.to_string();
            return Err(PlanError::Kept { path, cause });
        }
    };
    let file: Result<File, _> = serde_json::from_str(&text);
    let cause = match file {
        Ok(file) if file.version == VERSION => {
            let (entries, plans) = (file.entries, file.plans);
            match plans.iter().all(Plan::is_sound) {
                true => return Ok(Kept { entries, plans }),
                false => "it tells of a site or target that it does not list".to_owned(),
            }
        }
        Ok(file) => format!(
            "it is of version {}, this program knows {VERSION}",
            file.version
        ),
        Err(e) => e.to_string(),
    };
    Err(PlanError::Kept { path, cause })
}

/// Keeps entries and plans.
///
/// # Errors
/// [`PlanError::Write`].
pub fn write(workspace_root: &Path, kept: Kept) -> Result<(), PlanError> {
    let path = place(workspace_root);
    let file = File {
        version: VERSION,
        entries: kept.entries,
        plans: kept.plans,
    };
    let written = serde_json::to_vec_pretty(&file)
        .map_err(std::io::Error::from)
        .and_then(|bytes| whole_file::write(&path, &bytes));
    written.map_err(|cause| PlanError::Write { path, cause })
}

/// What is kept once a plan is made: entries of its sites and dates that stay keep all they have,
/// those that moved keep their UID and are counted on, those that were dropped are cancelled.
/// Entries of other sites and dates, and past ones, stay as they are.
///
/// # Errors
/// Where the system has no random numbers for the UID of a new entry.
pub fn after(kept: Vec<Entry>, plan: &Plan, now: DateTime<Utc>) -> io::Result<Vec<Entry>> {
    let of_plan = |e: &Entry| {
        let here = plan.sites.iter().any(|(id, _)| *id == e.site);
        let then = (plan.from.max(plan.today)..=plan.to).contains(&e.date);
        // today's is past once it was made
        let is_past = |v: &Planned| v.past && v.date == e.date && plan.sites[v.site].0 == e.site;
        !e.cancelled && here && then && !plan.visits.iter().any(is_past)
    };
    let (mut open, mut entries): (Vec<Entry>, Vec<Entry>) = kept.into_iter().partition(of_plan);
    let mut fresh: Vec<&Planned> = Vec::new();
    for visit in plan.visits.iter().filter(|v| !v.past) {
        let site = &plan.sites[visit.site].0;
        let same = open
            .iter()
            .position(|e| e.date == visit.date && e.site == *site);
        match same {
            Some(i) => entries.push(moved(open.remove(i), plan, visit, now)),
            None => fresh.push(visit),
        }
    }
    for visit in fresh {
        // of what is left, the entry of the same site that lies nearest is the one that moved
        let site = &plan.sites[visit.site].0;
        let left = open.iter().enumerate().filter(|(_, e)| e.site == *site);
        let nearest = left.min_by_key(|(_, e)| (e.date - visit.date).num_days().abs());
        entries.push(match nearest.map(|(i, _)| i) {
            Some(i) => moved(open.remove(i), plan, visit, now),
            None => new(plan, visit, now)?,
        });
    }
    entries.extend(open.into_iter().map(|e| Entry {
        sequence: e.sequence + 1,
        cancelled: true,
        changed: now,
        ..e
    }));
    entries.sort_by(|a, b| (a.date, &a.site, &a.uid).cmp(&(b.date, &b.site, &b.uid)));
    Ok(entries)
}

fn moved(entry: Entry, plan: &Plan, visit: &Planned, now: DateTime<Utc>) -> Entry {
    let words = plan.open_words(visit);
    let stays = entry.date == visit.date
        && (entry.begin, entry.end) == (visit.start.begin, visit.start.end);
    if stays && entry.words == words {
        return entry;
    }
    Entry {
        // other chances are no reason to ask everybody again
        sequence: entry.sequence + u32::from(!stays),
        date: visit.date,
        begin: visit.start.begin,
        end: visit.start.end,
        changed: now,
        words,
        ..entry
    }
}

fn new(plan: &Plan, visit: &Planned, now: DateTime<Utc>) -> io::Result<Entry> {
    // made of nothing that the entry says: a site that is told by another name could be guessed from
    // it. 128 bits are as many as a random UUID has, which RFC 7986 (5.3) asks for
    let random = key::random()?;
    let uid: String = random.iter().take(16).map(|b| format!("{b:02x}")).collect();
    Ok(Entry {
        uid,
        sequence: 0,
        site: plan.sites[visit.site].0.clone(),
        date: visit.date,
        begin: visit.start.begin,
        end: visit.start.end,
        cancelled: false,
        changed: now,
        words: plan.open_words(visit),
    })
}
