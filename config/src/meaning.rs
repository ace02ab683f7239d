//! What rows mean beyond date, place, species and number: purpose, completeness, observers.

use chrono::NaiveDate;

/// Why a visit was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Purpose {
    /// For whatever is there; the long-term curves rest on such visits.
    Standard,
    /// For certain species or dates, so that what was found is no sample of the site.
    Targeted,
}

/// What several observers' rows for one visit come to.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, Default, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum ObserverRule {
    /// Different parties that saw different birds: counts add up, and so do efforts.
    #[default]
    Add,
    /// The same birds seen by several: the largest count and the longest effort stand.
    Largest,
}

/// What several counts sources that tell of one visit come to. A visit is a site's date, those
/// made for certain species or dates apart.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, Default, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum OverlapRule {
    /// The same birds written down twice: of each species the largest count stands, and the
    /// longest effort. It neither doubles a bird nor loses one.
    #[default]
    Largest,
    /// The whole visit is as the source tells it that stands first in `wingtide.toml`; of an
    /// effort that it lacks, the next one tells.
    First,
    /// Different birds: counts add up, and so do efforts.
    Add,
}

/// What is kept of observers' names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum KeepObservers {
    /// Only how many took part in a visit.
    #[default]
    None,
    /// First letters.
    Initials,
    /// Names as written.
    Names,
}

/// To which date a visit of a night belongs, where times of day are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Night {
    /// To the evening before: what is before noon belongs to the day before.
    Evening,
    /// To the morning after: what is from noon on belongs to the day after.
    Morning,
}

/// Columns that a counts or visits file may have besides those of its kind.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MoreColumns {
    /// Purpose of the visit, in the source's words.
    pub purpose: Option<String>,
    /// Whether the visit was fully reported, in the source's words for yes and no.
    pub fully_reported: Option<String>,
    /// Who observed.
    pub observer: Option<String>,
    /// Whether the species was present or absent (Darwin Core `occurrenceStatus`).
    pub status: Option<String>,
    /// Age, in free words.
    pub age: Option<String>,
    /// Sex, in free words.
    pub sex: Option<String>,
    /// Plumage, in free words.
    pub plumage: Option<String>,
    /// Doubts about the species (Darwin Core `identificationQualifier`).
    pub qualifier: Option<String>,
    /// Degrees north and east, in place of a site column.
    pub coordinates: Option<(String, String)>,
}

/// Words of a source for purpose, yes and no, absent and present, and of its rows of totals; compared
/// without regard to case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    /// A standard visit.
    pub standard: Vec<String>,
    /// A targeted visit.
    pub targeted: Vec<String>,
    /// Fully reported.
    pub yes: Vec<String>,
    /// Not fully reported.
    pub no: Vec<String>,
    /// Looked for and not found.
    pub absent: Vec<String>,
    /// Found.
    pub present: Vec<String>,
    /// Begins a row, or names a column, that adds up others.
    pub totals: Vec<String>,
}

/// How far from a site a row or event with coordinates may lie, km. Common practice, no source.
pub const WITHIN_KM: f64 = 1.0;

/// What a source says of its rows besides its kind's columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Meaning {
    /// Further columns.
    pub columns: MoreColumns,
    /// Their words.
    pub words: Words,
    /// Purpose of every row whose purpose is not written; None where that is for the visits table
    /// to say.
    pub purpose: Option<Purpose>,
    /// Rule for several observers; None where none is stated.
    pub observers: Option<ObserverRule>,
    /// How far from a site a row with coordinates may lie, km.
    pub within_km: f64,
    /// To which date a night belongs.
    pub night: Option<Night>,
}

impl Default for Meaning {
    fn default() -> Self {
        Meaning {
            columns: MoreColumns::default(),
            words: Words::default(),
            purpose: None,
            observers: None,
            within_km: WITHIN_KM,
            night: None,
        }
    }
}

/// What holds for the records of all sources.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RecordRules {
    /// What is kept of observers' names.
    pub keep_observers: KeepObservers,
    /// Long-term curves rest on targeted visits too.
    pub use_targeted: bool,
    /// What a visit comes to that several counts sources tell of.
    pub overlap: OverlapRule,
    /// Names for birds that were not told apart.
    pub undecided: Vec<Undecided>,
}

/// A name for birds that were left undecided between species.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undecided {
    /// What the files write, such as `stint sp.`
    pub name: String,
    /// Scientific names, two or more.
    pub between: Vec<String>,
}

/// A name that meant a species for part of the time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DatedName {
    /// The name.
    pub name: String,
    /// First date on which it did; from the beginning where None.
    pub since: Option<NaiveDate>,
    /// Last date on which it did; to the end where None.
    pub until: Option<NaiveDate>,
}

impl DatedName {
    /// Did the name mean the species on that date?
    pub fn holds_on(&self, date: NaiveDate) -> bool {
        self.since.is_none_or(|since| since <= date) && self.until.is_none_or(|until| date <= until)
    }

    /// Is there a date on which both names hold?
    pub fn overlaps(&self, other: &DatedName) -> bool {
        let before = |until: Option<NaiveDate>, since: Option<NaiveDate>| {
            until.zip(since).is_some_and(|(until, since)| until < since)
        };
        !before(self.until, other.since) && !before(other.until, self.since)
    }
}
