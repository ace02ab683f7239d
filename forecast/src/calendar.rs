//! Days of the year, ISO weeks and months.

use chrono::{Datelike, Duration, NaiveDate};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Days in the circle of the year: every calendar day of a leap year has its place.
pub const DAYS: usize = 366;

/// Day of the year, 1..=366, counted in the date's own year (ISO 8601 ordinal date).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u16", into = "u16")]
pub struct DayOfYear(u16);

/// A number that is no day of the year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{0} is no day of the year (1 to 366)")]
pub struct NotADayOfYear(pub i64);

impl DayOfYear {
    /// The date's ordinal day.
    pub fn of(date: NaiveDate) -> Self {
        DayOfYear(date.ordinal() as u16)
    }

    /// 1..=366.
    pub fn get(self) -> u16 {
        self.0
    }

    /// 0..=365, to index arrays of [`DAYS`] entries.
    pub fn index(self) -> usize {
        usize::from(self.0) - 1
    }

    /// Days between two days of the year, the shorter way round.
    pub fn distance(self, other: DayOfYear) -> u16 {
        let d = self.0.abs_diff(other.0);
        d.min(DAYS as u16 - d)
    }

    /// This day in the given year; day 366 of a common year is 31 December.
    pub fn in_year(self, year: i32) -> Option<NaiveDate> {
        NaiveDate::from_yo_opt(year, u32::from(self.0))
            .or_else(|| NaiveDate::from_ymd_opt(year, 12, 31))
    }
}

impl TryFrom<u16> for DayOfYear {
    type Error = NotADayOfYear;
    fn try_from(day: u16) -> Result<Self, NotADayOfYear> {
        if (1..=DAYS as u16).contains(&day) {
            Ok(DayOfYear(day))
        } else {
            Err(NotADayOfYear(i64::from(day)))
        }
    }
}

impl From<DayOfYear> for u16 {
    fn from(day: DayOfYear) -> u16 {
        day.0
    }
}

/// Days in a Gregorian year.
pub fn days_in_year(year: i32) -> u16 {
    if NaiveDate::from_yo_opt(year, 366).is_some() {
        366
    } else {
        365
    }
}

/// A month and day of a common year; 29 February is read as 28.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MonthDay {
    /// 1..=12
    pub month: u8,
    /// 1..=31
    pub day: u8,
}

impl MonthDay {
    /// The date nearest to a position on the circle of the year, where day `d` of the year lies at
    /// `d.0`; positions beyond either end go round. Read on a common year: 366 is 31 December.
    pub fn of_position(position: f64) -> Self {
        let day = (position.round() as i64 - 1).rem_euclid(DAYS as i64) as u32 + 1;
        let date = NaiveDate::from_yo_opt(2023, day.min(365)).unwrap_or(NaiveDate::MIN);
        MonthDay {
            month: date.month() as u8,
            day: date.day() as u8,
        }
    }
}

impl From<NaiveDate> for MonthDay {
    fn from(date: NaiveDate) -> Self {
        let day = if date.month() == 2 {
            date.day().min(28)
        } else {
            date.day()
        };
        MonthDay {
            month: date.month() as u8,
            day: day as u8,
        }
    }
}

impl fmt::Display for MonthDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}-{:02}", self.month, self.day)
    }
}

/// A week of ISO 8601: Monday to Sunday, week 1 holds the year's first Thursday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct IsoWeek {
    monday: NaiveDate,
}

impl IsoWeek {
    /// The week that holds the date.
    pub fn of(date: NaiveDate) -> Self {
        let back = i64::from(date.weekday().num_days_from_monday());
        IsoWeek {
            monday: date - Duration::days(back),
        }
    }

    /// Its first day.
    pub fn monday(self) -> NaiveDate {
        self.monday
    }

    /// Its seven days, Monday first.
    pub fn days(self) -> [NaiveDate; 7] {
        std::array::from_fn(|i| self.monday + Duration::days(i as i64))
    }

    /// ISO year and week number.
    pub fn year_and_week(self) -> (i32, u32) {
        let w = self.monday.iso_week();
        (w.year(), w.week())
    }
}

impl fmt::Display for IsoWeek {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, week) = self.year_and_week();
        write!(f, "{year:04}-W{week:02}")
    }
}

/// Does the ISO year have 53 weeks? 28 December always lies in the last one.
pub fn has_53_weeks(iso_year: i32) -> bool {
    NaiveDate::from_ymd_opt(iso_year, 12, 28).is_some_and(|d| d.iso_week().week() == 53)
}

/// Mean of positions on a circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CircularMean {
    /// Mean direction, in the unit of the positions, in (0, period].
    pub mean: f64,
    /// Mean resultant length, 0 (spread evenly) to 1 (all in one place).
    pub resultant_length: f64,
    /// Circular standard deviation, sqrt(-2 ln R), in the unit of the positions.
    pub sd: f64,
}

/// Mean direction, resultant length and standard deviation of positions on a circle of the
/// given period (Fisher 1993, Statistical Analysis of Circular Data, section 2.3). None for no positions.
pub fn circular_mean(positions: &[f64], period: f64) -> Option<CircularMean> {
    if positions.is_empty() {
        return None;
    }
    let turn = std::f64::consts::TAU / period;
    let n = positions.len() as f64;
    let s = positions.iter().map(|p| (p * turn).sin()).sum::<f64>() / n;
    let c = positions.iter().map(|p| (p * turn).cos()).sum::<f64>() / n;
    let r = s.hypot(c);
    let mean = (s.atan2(c) / turn).rem_euclid(period);
    Some(CircularMean {
        mean: if mean == 0.0 { period } else { mean },
        resultant_length: r,
        sd: (-2.0 * r.ln()).max(0.0).sqrt() / turn,
    })
}
