//! What became of a passage's gate, and what an open one foretells.

use super::daily::DailyTemperature;
use super::left_out::LeftOut;
use super::slope::Slope;
use super::windows::{self, Column};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Whether temperature enters a passage's forecast.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gate {
    /// It does.
    Open(Box<Link>),
    /// It does not.
    Closed(Closed),
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
    /// The shift of the season that begins in `year`; None until the last day of every window
    /// is known.
    pub fn expected(&self, temperature: &DailyTemperature, year: i32) -> Option<Expected> {
        let row = windows::row(temperature, self.arrival_day, &self.columns, year)?;
        let by_columns: f64 = self.coefficients.iter().zip(&row).map(|(b, x)| b * x).sum();
        Some(Expected {
            days: self.intercept + by_columns,
            sd_days: self.left_out.error_days,
        })
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
