//! The input of every model: dated visits to one site and what was counted on them.

use crate::calendar::DayOfYear;
use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Birds of one species on one visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Count {
    /// This many; 0 where the species was looked for and not found.
    Exactly(u32),
    /// This many or more.
    AtLeast(u32),
    /// An estimate.
    About(u32),
    /// Found, without a number.
    Present,
    /// The visit tells nothing about the species.
    Unknown,
}

impl Count {
    /// Was the species found? None where the visit tells nothing.
    pub fn found(self) -> Option<bool> {
        match self {
            Count::Exactly(n) | Count::About(n) | Count::AtLeast(n) => Some(n > 0),
            Count::Present => Some(true),
            Count::Unknown => None,
        }
    }

    /// The birds it stands for at the least: `Present` is 1, `Unknown` 0.
    pub fn birds(self) -> u32 {
        match self {
            Count::Exactly(n) | Count::About(n) | Count::AtLeast(n) => n,
            Count::Present => 1,
            Count::Unknown => 0,
        }
    }
}

/// One dated search of a site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visit {
    /// Local date.
    pub date: NaiveDate,
    /// Natural logarithm of effort / standard effort; 0 where effort is not recorded.
    pub log_effort_ratio: f64,
}

impl Visit {
    /// Calendar year.
    pub fn year(&self) -> i32 {
        self.date.year()
    }

    /// Day of the year.
    pub fn day(&self) -> DayOfYear {
        DayOfYear::of(self.date)
    }
}

/// The counts of one species on the standard visits of one site, in date order.
#[derive(Debug, Clone)]
pub struct CountSeries {
    visits: Arc<[Visit]>,
    counts: Vec<Count>,
}

/// A series whose parts do not fit together.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SeriesError {
    /// One count a visit is needed.
    #[error("{visits} visits but {counts} counts")]
    Length {
        /// number of visits
        visits: usize,
        /// number of counts
        counts: usize,
    },
    /// Visits must be in date order.
    #[error("the visit of {0} stands after a later one")]
    Order(NaiveDate),
    /// Effort must be a finite positive multiple of the standard.
    #[error("the visit of {0} has no usable effort")]
    Effort(NaiveDate),
}

impl CountSeries {
    /// Checks that visits are in date order with finite effort, one count each.
    pub fn new(visits: Arc<[Visit]>, counts: Vec<Count>) -> Result<Self, SeriesError> {
        if visits.len() != counts.len() {
            return Err(SeriesError::Length {
                visits: visits.len(),
                counts: counts.len(),
            });
        }
        if let Some(pair) = visits.windows(2).find(|p| p[0].date > p[1].date) {
            return Err(SeriesError::Order(pair[1].date));
        }
        if let Some(v) = visits.iter().find(|v| !v.log_effort_ratio.is_finite()) {
            return Err(SeriesError::Effort(v.date));
        }
        Ok(CountSeries { visits, counts })
    }

    /// All visits with their counts, in date order.
    pub fn iter(&self) -> impl Iterator<Item = (&Visit, Count)> {
        self.visits.iter().zip(self.counts.iter().copied())
    }

    /// Visits that tell something about the species.
    pub fn known(&self) -> impl Iterator<Item = (&Visit, Count)> {
        self.iter().filter(|(_, c)| *c != Count::Unknown)
    }

    /// The count of a visit by its place; unknown beyond the last.
    pub fn count(&self, visit: usize) -> Count {
        self.counts.get(visit).copied().unwrap_or(Count::Unknown)
    }

    /// The visits.
    pub fn visits(&self) -> &Arc<[Visit]> {
        &self.visits
    }

    /// Birds in all.
    pub fn birds(&self) -> u64 {
        self.counts.iter().map(|c| u64::from(c.birds())).sum()
    }

    /// Calendar years in which the species was found.
    pub fn years_found(&self) -> usize {
        let mut years: Vec<i32> = self
            .iter()
            .filter(|(_, c)| c.found() == Some(true))
            .map(|(v, _)| v.year())
            .collect();
        years.dedup();
        years.len()
    }
}
