//! What became of a passage's gate, and what an open one foretells.

use super::daily::DailyTemperature;
use super::left_out::LeftOut;
use super::slope::Slope;
use super::windows::{self, Column};
use crate::calendar::MonthDay;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A year without 29 February, to name days by.
const COMMON_YEAR: i32 = 2023;

/// Whether temperature enters a passage's forecast.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gate {
    /// It does.
    Open(Box<Link>),
    /// It does not.
    Closed(Closed),
}

impl Gate {
    /// The link, where it is open.
    pub fn link(&self) -> Option<&Link> {
        match self {
            Gate::Open(link) => Some(link),
            Gate::Closed(_) => None,
        }
    }

    /// Were there seasons enough to look for a link?
    pub fn looked_at(&self) -> bool {
        !matches!(
            self,
            Gate::Closed(
                Closed::TooFewSeasons { .. }
                    | Closed::TooFewTemperatures { .. }
                    | Closed::TooUneven { .. }
            )
        )
    }
}

/// A link that passed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Link {
    /// Days late per deg C in the window that fits best, with its 95 % interval.
    pub slope: Slope,
    /// Errors with the link and without it, for seasons left out.
    pub left_out: LeftOut,
    /// Chance that a site without any link shows one as strong.
    pub chance: f64,
    /// Seasons that it rests on.
    pub seasons: usize,
    pub(super) arrival_day: f64,
    pub(super) columns: Vec<Column>,
    pub(super) intercept: f64,
    pub(super) coefficients: Vec<f64>,
}

/// A season's shift as its temperatures foretell it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Days late.
    pub days: f64,
    /// Root mean square error for seasons left out, days.
    pub sd_days: f64,
}

impl Link {
    /// The shift of the season that begins in `year`; None until the last day that counts is known.
    pub fn expected(&self, temperature: &DailyTemperature, year: i32) -> Option<Expected> {
        let mut days = self.intercept;
        let counting = self.columns.iter().zip(&self.coefficients);
        for (column, coefficient) in counting.filter(|(_, b)| **b != 0.0) {
            days += coefficient * windows::value(temperature, self.arrival_day, column, year)?;
        }
        Some(Expected {
            days,
            sd_days: self.left_out.error_days,
        })
    }

    /// First and last day of the window that the slope rests on, on a common year.
    pub fn window(&self) -> Option<(MonthDay, MonthDay)> {
        let arrival = windows::date_of(self.arrival_day, COMMON_YEAR)?;
        let (first, last) = self.slope.window.dates(arrival);
        Some((first.into(), last.into()))
    }
}

/// Why a gate stays closed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Closed {
    /// Too few seasons tell when they ran.
    TooFewSeasons {
        /// seasons
        seasons: usize,
        /// least
        needed: usize,
    },
    /// Too few of them have temperatures.
    TooFewTemperatures {
        /// seasons with temperatures
        seasons: usize,
        /// least
        needed: usize,
    },
    /// A few seasons outweigh all others.
    TooUneven {
        /// seasons of equal weight that would tell as much
        effective: f64,
        /// least
        needed: f64,
    },
    /// A site without any link shows one as strong too often.
    Chance {
        /// how often
        chance: f64,
    },
    /// It does not foretell seasons left out better by more than the standard error.
    NoGain(LeftOut),
    /// The numbers allow no fit.
    NoFit {
        /// why
        why: String,
    },
}

impl fmt::Display for Closed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "no link with temperature was found: ")?;
        match self {
            Closed::TooFewSeasons { seasons, needed } => {
                write!(
                    f,
                    "{seasons} seasons tell their timing, {needed} are needed"
                )
            }
            Closed::TooFewTemperatures { seasons, needed } => {
                write!(
                    f,
                    "{seasons} seasons have temperatures, {needed} are needed"
                )
            }
            Closed::TooUneven { effective, needed } => {
                write!(
                    f,
                    "the seasons tell as much as {effective:.1} even ones, {needed} are needed"
                )
            }
            Closed::Chance { chance } => {
                let percent = (100.0 * chance).round();
                write!(
                    f,
                    "chance alone shows one as strong at {percent} % of sites"
                )
            }
            Closed::NoGain(l) => write!(
                f,
                "for seasons left out it errs by {:.1} days, the usual date by {:.1}",
                l.error_days, l.baseline_days
            ),
            Closed::NoFit { why } => write!(f, "{why}"),
        }
    }
}
