//! Which days of the year a site is watched on. Guidance says nothing about the others.

use crate::calendar::{DAYS, DayOfYear};
use crate::series::Visit;
use chrono::{Datelike, Duration};
use std::collections::BTreeSet;

/// A day is watched if a visit fell within this many days of it ...
pub const REACH_DAYS: i64 = 10;
/// ... in at least this many years (or in all of them, where there are fewer).
pub const LEAST_YEARS: usize = 3;

/// The days of the year on which a site is watched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Watched([bool; DAYS]);

impl Watched {
    /// From a site's visits.
    pub fn from_visits(visits: &[Visit]) -> Self {
        let mut years: Vec<BTreeSet<i32>> = vec![BTreeSet::new(); DAYS];
        for visit in visits {
            for shift in -REACH_DAYS..=REACH_DAYS {
                let near = visit.date + Duration::days(shift);
                years[DayOfYear::of(near).index()].insert(near.year());
                // day 366 of a common year is its last day
                if near.ordinal() == 365 && !near.leap_year() {
                    years[DAYS - 1].insert(near.year());
                }
            }
        }
        let visited: BTreeSet<i32> = visits.iter().map(Visit::year).collect();
        let needed = LEAST_YEARS.min(visited.len()).max(1);
        Watched(std::array::from_fn(|d| years[d].len() >= needed))
    }

    /// Watched on every day.
    pub fn always() -> Self {
        Watched([true; DAYS])
    }

    /// Is the site watched on the day?
    pub fn on(&self, day: DayOfYear) -> bool {
        self.0[day.index()]
    }

    /// Day by day.
    pub fn days(&self) -> &[bool; DAYS] {
        &self.0
    }

    /// Watched days in all.
    pub fn total(&self) -> usize {
        self.0.iter().filter(|w| **w).count()
    }

    /// Runs of consecutive days on the circle for which `watched` holds, as (first index, length);
    /// a run over the whole year starts at 0.
    pub fn runs(&self, watched: bool) -> Vec<(usize, usize)> {
        let is = |i: usize| self.0[i % DAYS] == watched;
        let Some(edge) = (0..DAYS).find(|i| !is(*i)) else {
            return vec![(0, DAYS)];
        };
        let mut runs = Vec::new();
        let mut i = edge;
        while i < edge + DAYS {
            let length = (i..edge + DAYS).take_while(|j| is(*j)).count();
            if length > 0 {
                runs.push((i % DAYS, length));
            }
            i += length.max(1);
        }
        runs
    }
}
