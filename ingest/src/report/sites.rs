//! What a load says of each site and its half-years.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

/// Is a species without a row on a visit known not to have been found?
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Zeros {
    /// On every visit.
    Known,
    /// On some visits.
    Partly,
    /// On none.
    Unknown,
    /// The site has no visits.
    NoVisits,
}

/// A site after the load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SiteReport {
    /// Site id.
    pub site: String,
    /// Visit dates, those in gaps among them.
    pub visits: u64,
    /// Visit dates in gaps, which no forecast uses.
    pub gap_visits: u64,
    /// Visit dates that were targeted alone, which are counted in no other number.
    #[serde(default)]
    pub targeted: u64,
    /// Visit dates that are fully reported.
    pub fully_reported: u64,
    /// Visit dates with an effort.
    pub with_effort: u64,
    /// First and last visit date.
    pub span: Option<(NaiveDate, NaiveDate)>,
    /// Dates with records that the visits table lacks, at most ten; their visits tell of the
    /// recorded species alone.
    pub dates_without_visit: Vec<NaiveDate>,
    /// How many of those there are.
    pub dates_without_visit_total: u64,
    /// Count rows.
    pub records: u64,
    /// Species with a row.
    pub species: u64,
    /// Are zeros known?
    pub zeros: Zeros,
}

/// A half-year of a site that counts as not visited: it has visit dates but not one record of any
/// species, or `wingtide.toml` says so.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Gap {
    /// Site id.
    pub site: String,
    /// Which half-year.
    pub half: HalfYear,
    /// Visit dates in it.
    pub visits: u64,
}

/// January to June or July to December of a year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct HalfYear {
    /// Calendar year.
    pub year: i32,
    /// 1 or 2.
    pub half: u8,
}

/// A half-year of a site that is not simply what its records make it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HalfYearNote {
    /// Site id.
    pub site: String,
    /// Which half-year.
    pub half: HalfYear,
    /// Visit dates in it.
    pub visits: u64,
    /// Count rows in it.
    pub records: u64,
    /// What became of it.
    pub told: HalfYearTold,
}

/// Why a half-year is not simply what its records make it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HalfYearTold {
    /// It was a gap until records of it came with this load.
    NoLongerGap,
    /// It has no record any more, but had some when it was decided on, and stays visited.
    StaysVisited {
        /// When it was decided on.
        since: DateTime<Utc>,
    },
    /// `wingtide.toml` says that it was visited.
    VisitedAsStated,
    /// `wingtide.toml` says that it is a gap.
    GapAsStated,
    /// It has records, but no visit of it stands in the visits table that the site has.
    CountsWithoutVisits,
}
