//! The first date of a season among those of all years.

use crate::calendar::days_in_year;
use crate::passage::cut::Stretch;
use crate::series::CountSeries;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeMap;

/// A season could have had a first date as early as another's if a visit fell within this many
/// days before it. A choice: a site visited once a week is watched.
const LOOKED_DAYS: i64 = 7;
/// With fewer other years than this a first date has no place. A choice.
pub const LEAST_YEARS: usize = 5;

/// When a species was first found in a season, and where that lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FirstDate {
    /// The first visit on which it was found; None where it was not yet.
    pub date: Option<NaiveDate>,
    /// It was there on the season's first visit: it may have come before.
    pub on_first_visit: bool,
    /// The season's last visit, up to the day asked about, that tells of it.
    pub until: Option<NaiveDate>,
    /// Its place.
    pub placed: Placed,
}

/// Place of a first date among the years.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Placed {
    /// Found: so many seasons of others that were watched for it then had it earlier, and so many
    /// on the same day of the season.
    Among {
        /// other seasons that were watched as early
        others: usize,
        /// of these, found earlier
        earlier: usize,
        /// of these, found on the same day
        same: usize,
    },
    /// Not found yet: of so many others visited by the day of this season's last visit, so many had
    /// it.
    NotYet {
        /// other seasons visited by the day
        others: usize,
        /// of these, found by the day
        found: usize,
    },
    /// Nobody looked for it yet.
    NoVisit,
    /// Too few other seasons were watched.
    TooFewYears {
        /// how many
        others: usize,
    },
}

/// Visits of one season by [`comparable`] day, and the first on which it was found.
#[derive(Default)]
struct Season {
    visited: Vec<i64>,
    first_visit: Option<NaiveDate>,
    last_visit: Option<NaiveDate>,
    found: Option<i64>,
    date: Option<NaiveDate>,
}

/// The first date of the season that begins in `season`, up to `until`, among the seasons wanted.
pub fn first_date(
    series: &CountSeries,
    stretch: &Stretch,
    season: i32,
    until: NaiveDate,
    wanted: impl Fn(i32) -> bool,
) -> FirstDate {
    let mut seasons: BTreeMap<i32, Season> = BTreeMap::new();
    for (visit, count) in series.known() {
        let (day, year) = (visit.day().index(), stretch.season_year(visit.date));
        let this = year == season;
        if !stretch.holds(day) || (this && visit.date > until) || !(this || wanted(year)) {
            continue;
        }
        let one = seasons.entry(year).or_default();
        let day = comparable(visit.date, year);
        one.visited.push(day);
        one.first_visit = one.first_visit.or(Some(visit.date));
        one.last_visit = Some(visit.date);
        if one.found.is_none() && count.found() == Some(true) {
            one.found = Some(day);
            one.date = Some(visit.date);
        }
    }
    let own = seasons.remove(&season).unwrap_or_default();
    FirstDate {
        date: own.date,
        on_first_visit: own.date.is_some() && own.date == own.first_visit,
        until: own.last_visit,
        placed: placed(&own, &seasons),
    }
}

/// The date's place in the season that began in `season`, by which seasons are compared: its month
/// and day as a day of a common year, so that a date after February is no day later in a leap
/// year. 29 February is read as 28; days after New Year follow on 31 December.
fn comparable(date: NaiveDate, season: i32) -> i64 {
    let ordinal = i64::from(date.ordinal());
    // 29 February is the 60th day of a leap year
    let leapt = days_in_year(date.year()) == 366 && ordinal >= 60;
    365 * i64::from(date.year() - season) + ordinal - i64::from(leapt)
}

fn placed(own: &Season, others: &BTreeMap<i32, Season>) -> Placed {
    // up to its last visit alone can a season say that it had none
    let Some(day) = own.found.or_else(|| own.visited.last().copied()) else {
        return Placed::NoVisit;
    };
    let watched = others.values().filter(|s| {
        let reach = (day - LOOKED_DAYS)..=day;
        // a season that had it by then was watched, whenever that was
        s.found.is_some_and(|f| f <= day) || s.visited.iter().any(|v| reach.contains(v))
    });
    let watched: Vec<&Season> = watched.collect();
    let found = |by: &dyn Fn(i64) -> bool| {
        let had = watched.iter().filter_map(|s| s.found);
        had.filter(|f| by(*f)).count()
    };
    let others = watched.len();
    if others < LEAST_YEARS {
        return Placed::TooFewYears { others };
    }
    match own.found {
        Some(day) => Placed::Among {
            others,
            earlier: found(&|f| f < day),
            same: found(&|f| f == day),
        },
        None => Placed::NotYet {
            others,
            found: found(&|f| f <= day),
        },
    }
}
