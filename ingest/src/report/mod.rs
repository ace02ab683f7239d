//! What a load did, told in full.

mod half_years;
mod mostly_refused;
mod overlaps;
mod parts;
mod render;
mod sites;

pub use render::grouped;
pub(crate) use render::of;

use crate::date::DateProblem;
use crate::store::Erased;
use chrono::{DateTime, Utc};
use config::meaning::ObserverRule;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

pub use half_years::HalfYearGroup;
pub use overlaps::{Overlap, OverlapPlace, rule_words};
pub use parts::{PartLines, at};
pub use sites::{Gap, HalfYear, HalfYearNote, HalfYearTold, SiteReport, Zeros};

/// What a load did. Its [`std::fmt::Display`] is for people, in 80 columns with at most ten
/// examples of a kind; as JSON every refused row and every species stands in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LoadReport {
    /// When the store last changed.
    pub loaded_at: DateTime<Utc>,
    /// Nothing in the store had to change.
    pub unchanged: bool,
    /// Sources in the order of `wingtide.toml`.
    pub sources: Vec<SourceReport>,
    /// Sources that `wingtide.toml` no longer lists; their rows were taken out.
    pub removed_sources: Vec<String>,
    /// Names of observers that former loads kept, erased as the settings no longer allow them.
    #[serde(default)]
    pub names_erased: Option<Erased>,
    /// Sites in the order of `wingtide.toml`.
    pub sites: Vec<SiteReport>,
    /// Half-years treated as gaps.
    pub gaps: Vec<Gap>,
    /// Half-years that are not simply what their records make them.
    #[serde(default)]
    pub half_years: Vec<HalfYearNote>,
    /// Counts sources that tell of the same visits.
    #[serde(default)]
    pub overlaps: Vec<Overlap>,
    /// What would make zeros known.
    pub offers: Vec<ZeroOffer>,
}

/// What became of one source's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SourceReport {
    /// The source's id.
    pub id: String,
    /// `counts`, `visits` or `temperature`.
    pub kind: Kind,
    /// Its file, relative to the workspace where it lies inside.
    pub file: String,
    /// The file and how it is read were the same as at the last load.
    pub unchanged: bool,
    /// Encoding it was read in.
    pub encoding: String,
    /// Separator of its columns, in words.
    pub separator: String,
    /// Rows below the header, without blank ones.
    pub rows: u64,
    /// Rows that held nothing.
    pub blank_rows: u64,
    /// Rows taken.
    pub accepted: u64,
    /// Rows among the accepted ones in which something was repaired.
    pub repaired: u64,
    /// What was repaired.
    pub repairs: Vec<Repair>,
    /// Rows not taken: `rows` less `accepted`.
    pub refused: Vec<Refusal>,
    /// What else is to be known about the file.
    pub notes: Vec<Note>,
    /// Species found, by name.
    pub species: Vec<SpeciesTotal>,
    /// Files, sheets or members, where there are several.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<PartLines>,
    /// What became of the rows of the batch that this one replaced.
    #[serde(default)]
    pub changes: Option<Changes>,
    /// Rule for several observers on one visit.
    #[serde(default)]
    pub observers: ObserverRule,
}

/// How the rows of a source changed against the batch before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Changes {
    /// The batch before.
    pub since: i64,
    /// Rows that it did not have.
    pub added: u64,
    /// Rows of the same date, site and species that say something else.
    pub changed: u64,
    /// Rows that only it had.
    pub removed: u64,
}

/// What a source holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Dated counts.
    Counts,
    /// Dated visits.
    Visits,
    /// Daily temperatures.
    Temperature,
}

/// How a row was repaired.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RepairKind {
    /// Upper and lower case of a name.
    Case,
    /// Stray spaces.
    Spaces,
    /// Stray tabs.
    Tabs,
    /// Characters that nobody sees.
    Invisible,
    /// Apostrophes and hyphens other than the listed name has, or accents apart from their letters.
    Signs,
    /// A time of day left out.
    TimeOfDay,
    /// A subspecies taken as its species.
    Subspecies,
    /// Author and year left out of a scientific name.
    Author,
    /// Empty cells beyond the last column.
    EmptyCells,
    /// A name taken as what it meant on that date.
    Synonym,
    /// Two names of one species in a cell.
    BothNames,
    /// A word for no birds in the place of a name: the row tells of a visit without birds.
    NoBirds,
}

/// Rows repaired alike in one column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Repair {
    /// The part that the line is of, where the source has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// How.
    pub kind: RepairKind,
    /// Column, as the header writes it.
    pub column: String,
    /// Rows.
    pub rows: u64,
    /// Different cells in them.
    pub cells: u64,
    /// First line.
    pub first_line: u64,
    /// Different cells, at most [`EXAMPLES_KEPT`], in the order met.
    pub examples: Vec<RepairExample>,
}

/// Different repaired cells that a report keeps for a kind and column.
pub const EXAMPLES_KEPT: usize = 1000;

/// A cell that was repaired.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RepairExample {
    /// The part that the line is of, where the source has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// First line.
    pub line: u64,
    /// What stands there.
    pub written: String,
    /// What it was read as.
    pub read_as: String,
    /// Rows with that very cell.
    pub rows: u64,
}

/// A row that was not taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Refusal {
    /// The part that the line is of, where the source has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// Line on which the row begins.
    pub line: u64,
    /// Column; empty where the whole row is at fault.
    pub column: String,
    /// What stands there, cut to 200 characters.
    pub value: String,
    /// Why, as a phrase that follows a colon.
    pub reason: String,
    /// The record may be sound but belongs to no one species (a hybrid, a genus alone).
    pub kept_back: bool,
}

/// Something to be known about a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// The part that the line is of, where the source has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// First line it is about, where it is about one.
    pub line: Option<u64>,
    /// A sentence.
    pub text: String,
}

/// A species in a counts source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpeciesTotal {
    /// The part that the line is of, where the source has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// Scientific name.
    pub name: String,
    /// Does `wingtide.toml` list it?
    pub listed: bool,
    /// The listed species with the nearest name, for one that is not listed.
    pub nearest: Option<String>,
    /// Line of its first record.
    pub first_line: u64,
    /// Rows, those that say "not found" among them.
    pub records: u64,
    /// Birds: exact, about and at-least numbers, and 1 for each present without a number.
    pub birds: u64,
    /// Rows by site id.
    pub sites: BTreeMap<String, u64>,
}

/// A line in `wingtide.toml` that would make zeros known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ZeroOffer {
    /// The counts source.
    pub source: String,
    /// Sites whose zeros it would make known.
    pub sites: Vec<String>,
    /// The line to write under the source.
    pub line: String,
}

fn batches(number: u64) -> String {
    match number {
        1 => "1 batch".to_owned(),
        n => format!("{} batches", grouped(n)),
    }
}

impl SourceReport {
    pub(crate) fn new(id: &str, kind: Kind, file: &str) -> Self {
        SourceReport {
            id: id.to_owned(),
            kind,
            file: file.to_owned(),
            unchanged: false,
            encoding: String::new(),
            separator: String::new(),
            rows: 0,
            blank_rows: 0,
            accepted: 0,
            repaired: 0,
            repairs: Vec::new(),
            refused: Vec::new(),
            notes: Vec::new(),
            species: Vec::new(),
            parts: Vec::new(),
            changes: None,
            observers: ObserverRule::default(),
        }
    }

    /// A row refused as lying in the future may be taken another day.
    pub(crate) fn has_future_rows(&self) -> bool {
        let future = DateProblem::Future.to_string();
        self.refused.iter().any(|r| r.reason == future)
    }

    /// Rows taken that are of birds, found or not; all but those of visits without birds.
    pub fn records(&self) -> u64 {
        self.accepted - self.visits_without_birds()
    }

    /// Rows taken that say that their visit found no bird.
    pub fn visits_without_birds(&self) -> u64 {
        self.rows_repaired(RepairKind::NoBirds)
    }

    /// Rows not taken that may be sound but belong to no one species.
    pub fn kept_back(&self) -> u64 {
        self.refused.iter().filter(|r| r.kept_back).count() as u64
    }

    /// Rows repaired in that way.
    pub fn rows_repaired(&self, kind: RepairKind) -> u64 {
        let alike = self.repairs.iter().filter(|r| r.kind == kind);
        alike.map(|r| r.rows).sum()
    }
}

impl LoadReport {
    /// Rows of birds in all counts sources.
    pub fn records(&self) -> u64 {
        let counts = self.sources.iter().filter(|s| s.kind == Kind::Counts);
        counts.map(SourceReport::records).sum()
    }

    /// That names of former loads were erased, in a sentence.
    pub fn names_erased_words(&self) -> Option<String> {
        let erased = self.names_erased?;
        let texts = match erased.texts {
            0 => String::new(),
            n => format!(", and from {}", of(n, "other text")),
        };
        Some(format!(
            "keep_observers allows them no more: names of observers that former loads kept were erased \
             from {} of {}{texts}; no count changed.",
            of(erased.rows, "row"),
            batches(erased.batches),
        ))
    }

    /// Were gaps and the like settled anew over files that did not change?
    pub(crate) fn only_settled(&self) -> bool {
        self.removed_sources.is_empty() && self.sources.iter().all(|s| s.unchanged)
    }

    /// The report on a site.
    pub fn site(&self, id: &str) -> Option<&SiteReport> {
        self.sites.iter().find(|s| s.site == id)
    }

    /// The report on a source.
    pub fn source(&self, id: &str) -> Option<&SourceReport> {
        self.sources.iter().find(|s| s.id == id)
    }

    /// Rows refused in all sources.
    pub fn refused(&self) -> u64 {
        self.sources.iter().map(|s| s.refused.len() as u64).sum()
    }
}
