//! What the counts say, with records put otherwise than they stand.

use crate::outlook::SiteCounts;
use crate::series::{Count, CountSeries};
use chrono::{Datelike, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

/// A record: birds of one species on one date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Said {
    /// Place of the species in the site's list.
    pub species: usize,
    /// Local date.
    pub date: NaiveDate,
    /// What was written.
    pub count: Count,
}

/// A site's counts by species and date. A record can be put otherwise than it stands, as one that
/// is not yet loaded is, or one that is tried out.
#[derive(Debug, Clone)]
pub struct Told<'a> {
    site: SiteCounts<'a>,
    visits: BTreeMap<NaiveDate, usize>,
    /// Dates of visits that tell of more than one species; None where most visits do not, so that
    /// a date with a single one is nothing odd.
    whole: Option<BTreeSet<NaiveDate>>,
    otherwise: Vec<Said>,
}

impl<'a> Told<'a> {
    /// The counts as they stand.
    pub fn new(site: SiteCounts<'a>) -> Self {
        let visits = site.visits.iter().enumerate();
        Told {
            site,
            visits: visits.map(|(i, v)| (v.date, i)).collect(),
            whole: whole(&site),
            otherwise: Vec::new(),
        }
    }

    /// The same counts with these put otherwise.
    pub fn but(&self, otherwise: Vec<Said>) -> Self {
        Told {
            otherwise,
            ..self.clone()
        }
    }

    /// What is told of a species on a date; unknown where no visit was made.
    pub fn count(&self, species: usize, date: NaiveDate) -> Count {
        let put = |s: &&Said| s.species == species && s.date == date;
        if let Some(said) = self.otherwise.iter().rev().find(put) {
            return said.count;
        }
        let visit = self.visits.get(&date);
        visit.map_or(Count::Unknown, |v| self.site.species[species].count(*v))
    }

    /// Was the site visited on the date? A date that has a single record, and of which all else is
    /// unknown, does not count where visits are fully reported otherwise.
    pub fn visited(&self, date: NaiveDate) -> bool {
        let whole = self.whole.as_ref();
        whole.map_or_else(|| self.visits.contains_key(&date), |w| w.contains(&date))
    }

    /// Logarithm of the visit's effort ratio; 0 where none was made.
    pub fn log_effort(&self, date: NaiveDate) -> f64 {
        let visit = self.visits.get(&date);
        visit.map_or(0.0, |v| self.site.visits[*v].log_effort_ratio)
    }

    /// Species told of.
    pub fn species(&self) -> usize {
        self.site.species.len()
    }
}

/// Visits that tell of so many are taken as a list of them.
const MOST: f64 = 0.9;

fn whole(site: &SiteCounts) -> Option<BTreeSet<NaiveDate>> {
    let told = |visit: usize| {
        let known = |s: &&&CountSeries| s.count(visit) != Count::Unknown;
        site.species.iter().filter(known).take(2).count() == 2
    };
    let all = site.visits.iter().enumerate();
    let whole: BTreeSet<NaiveDate> = all.filter(|(i, _)| told(*i)).map(|(_, v)| v.date).collect();
    (whole.len() as f64 >= MOST * site.visits.len() as f64).then_some(whole)
}

/// The date with day and month in each other's place, where that is another day of the calendar.
pub fn swapped(date: NaiveDate) -> Option<NaiveDate> {
    let other = NaiveDate::from_ymd_opt(date.year(), date.day(), date.month())?;
    (other != date).then_some(other)
}
