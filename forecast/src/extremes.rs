//! First and last dates of species with few records: the extreme sightings of the years, and
//! where the season may begin and end beyond them.

mod few;

pub use few::{FewRecords, few_records};

use crate::calendar::{DayOfYear, MonthDay};
use crate::endpoint::{
    End, EndpointError, LEAST_RECORDS, MOST_RECORDS, optimal_linear, spread_within_day,
};
use crate::passage::cut::Stretch;
use crate::series::CountSeries;
use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// Intervals hold the end with probability 80 %, as all dates' do here.
const ALPHA: f64 = 0.2;

/// The first and last sighting of one season.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct SeasonExtremes {
    /// The season, named by the year in which it began.
    pub year: i32,
    /// First date it was found.
    pub first: NaiveDate,
    /// Last date it was found.
    pub last: NaiveDate,
    /// Days on which it was found.
    pub days_found: usize,
}

/// First and last sightings of a stretch of the year, season by season; a stretch may cross New
/// Year. Seasons in which the species was not found are left out.
pub fn by_season(series: &CountSeries, stretch: &Stretch) -> Vec<SeasonExtremes> {
    let mut seasons: BTreeMap<i32, Vec<NaiveDate>> = BTreeMap::new();
    for (visit, count) in series.known() {
        if count.found() == Some(true) && stretch.holds(visit.day().index()) {
            seasons
                .entry(stretch.season_year(visit.date))
                .or_default()
                .push(visit.date);
        }
    }
    // visits are in order of date; two of one date are one day
    let extremes = |(year, mut dates): (i32, Vec<NaiveDate>)| {
        dates.dedup();
        let (first, last) = (*dates.first()?, *dates.last()?);
        Some(SeasonExtremes {
            year,
            first,
            last,
            days_found: dates.len(),
        })
    };
    seasons.into_iter().filter_map(extremes).collect()
}

/// Where a season may begin or end beyond the records, as positions on the circle of the year
/// that run on beyond New Year.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Beyond {
    /// The estimate.
    pub day: f64,
    /// Outer bound of the 80 % interval, which takes its shape as known and is too narrow for
    /// that (see [`optimal_linear`]); None where so few records set none.
    pub outer: Option<f64>,
    /// Seasons whose extreme it rests on.
    pub seasons: usize,
}

/// Why nothing is said beyond the records.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NothingBeyond {
    /// Found in fewer than three seasons.
    TooFewSeasons,
    /// The extremes lie too close together, or hint at an end outside their part of the year.
    NoEnd,
}

/// One end of the season.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Extreme {
    /// Which end.
    pub end: Which,
    /// The extreme record of all seasons.
    pub record: NaiveDate,
    /// Where the season may begin or end.
    pub beyond: Result<Beyond, NothingBeyond>,
}

/// End of a season.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Which {
    /// Its beginning.
    First,
    /// Its end.
    Last,
}

impl Extreme {
    /// The record's day of the year.
    pub fn record_day(&self) -> DayOfYear {
        DayOfYear::of(self.record)
    }

    /// The date to tell: the estimate, else the record's.
    pub fn month_day(&self) -> MonthDay {
        match self.beyond {
            Ok(beyond) => MonthDay::of_position(beyond.day),
            Err(_) => self.record.into(),
        }
    }
}

impl fmt::Display for Extreme {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (begins, record) = match self.end {
            Which::First => ("first", "earliest"),
            Which::Last => ("last", "latest"),
        };
        let seen = self.record.format("%-d %B %Y");
        match self.beyond {
            Ok(beyond) => {
                let MonthDay { month, day } = MonthDay::of_position(beyond.day);
                let about = NaiveDate::from_ymd_opt(2023, u32::from(month), u32::from(day));
                let about = about.unwrap_or(self.record).format("%-d %B");
                write!(f, "{begins} about {about} ({record} record {seen})")
            }
            Err(_) => write!(f, "{record} record {seen}"),
        }
    }
}

/// Both ends. None where the species was never found in the stretch.
pub fn first_and_last(seasons: &[SeasonExtremes], stretch: &Stretch) -> Option<(Extreme, Extreme)> {
    let offset = |date: NaiveDate| {
        // a season's own first day, so that leap years don't tell a day apart
        stretch.offset(DayOfYear::of(date).index()) as f64
    };
    let one = |which: Which, end: End, of: fn(&SeasonExtremes) -> NaiveDate| {
        let offsets: Vec<f64> = seasons.iter().map(|s| offset(of(s))).collect();
        // told by month and day, and so compared: 10 September is later than 9 September of a leap year
        let place = |date: NaiveDate| stretch.offset(of_leap_year(date));
        let record = seasons.iter().map(of).reduce(|best, date| {
            let beats = match which {
                Which::First => place(date) < place(best),
                Which::Last => place(date) > place(best),
            };
            if beats { date } else { best }
        })?;
        Some(Extreme {
            end: which,
            record,
            beyond: beyond(&offsets, end, stretch),
        })
    };
    Some((
        one(Which::First, End::First, |s| s.first)?,
        one(Which::Last, End::Last, |s| s.last)?,
    ))
}

/// Month and day as an index of a leap year's days.
fn of_leap_year(date: NaiveDate) -> usize {
    let late = !date.leap_year() && date.month() > 2;
    DayOfYear::of(date).index() + usize::from(late)
}

fn beyond(offsets: &[f64], end: End, stretch: &Stretch) -> Result<Beyond, NothingBeyond> {
    let used = offsets.len().min(MOST_RECORDS);
    if used < LEAST_RECORDS {
        return Err(NothingBeyond::TooFewSeasons);
    }
    let found = match optimal_linear(offsets, end, used, ALPHA) {
        // dates are days, but the method is for moments: extremes on one day are spread over it
        Err(EndpointError::SharedExtreme(_)) => {
            optimal_linear(&spread_within_day(offsets), end, used, ALPHA)
        }
        other => other,
    };
    let found = found.map_err(|_| NothingBeyond::NoEnd)?;
    let start = stretch.first as f64 + 1.0;
    let inside = |at: f64| (-0.5..stretch.length as f64 - 0.5).contains(&at);
    if !inside(found.estimate) {
        return Err(NothingBeyond::NoEnd);
    }
    let outer = match end {
        End::First => found.low,
        End::Last => found.high,
    };
    let outer = outer.filter(|at| inside(*at)).map(|at| start + at);
    Ok(Beyond {
        day: start + found.estimate,
        outer,
        seasons: used,
    })
}

#[cfg(test)]
mod tests;
