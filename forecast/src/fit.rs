//! What a fit of one species at one site says.

use crate::calendar::MonthDay;
use crate::extremes::FewRecords;
use crate::season_shift::SeasonShift;
use crate::temperature::Gate;
use crate::trend::Change;
use crate::year_curve::YearCurve;
use serde::{Deserialize, Serialize};

/// What the counts allow to be said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// A seasonal curve with passages.
    Curve,
    /// Found all year: no trough deep enough to cut the year.
    AllYear,
    /// The counts show no season at all: smoothing ran to a flat line.
    NoSeason,
    /// Too few birds or seasons for a curve.
    TooFew,
}

/// The season a passage belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PassageName {
    /// On the way to the breeding grounds.
    Spring,
    /// On the way from them.
    Autumn,
    /// A stay over winter.
    Winter,
    /// A stay over summer.
    Summer,
    /// Not cut into passages.
    AllYear,
}

/// A date with how well it is known. Days are positions on the circle of the year, in fractions
/// of a day: day `d` of the year lies at `d.0`. Arrivals lie within the year; later dates run on
/// beyond 366 where a passage crosses New Year, so that departure never lies before arrival.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DateEstimate {
    /// The estimate.
    pub day: f64,
    /// 80 % interval of the long-term date.
    pub known: (f64, f64),
    /// 80 % interval of where it falls in any one year; None until the forecast fills it.
    pub any_year: Option<(f64, f64)>,
}

impl DateEstimate {
    /// The same date so many days along the circle.
    pub fn moved(self, days: f64) -> Self {
        let both = |(a, b): (f64, f64)| (a + days, b + days);
        DateEstimate {
            day: self.day + days,
            known: both(self.known),
            any_year: self.any_year.map(both),
        }
    }

    /// The estimate as month and day.
    pub fn month_day(&self) -> MonthDay {
        MonthDay::of_position(self.day)
    }
}

/// A species at a site, fitted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpeciesFit {
    /// What can be said.
    pub verdict: Verdict,
    /// Birds on visits that tell something, all years.
    pub birds: u64,
    /// Calendar years in which it was found.
    pub seasons: usize,
    /// The year curve; None with too few records or after a failure.
    pub curve: Option<YearCurve>,
    /// Passages in order of the year; exactly one, uncut, without a seasonal curve.
    pub passages: Vec<Passage>,
    /// Why the fit failed, where records would have sufficed.
    pub failure: Option<String>,
}

/// One seasonal movement or stay.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Passage {
    /// Its season.
    pub name: PassageName,
    /// What can be said of it.
    pub verdict: Verdict,
    /// Birds counted in it over all years.
    pub birds: u64,
    /// Season-years in which it was found.
    pub seasons: usize,
    /// Watched days of the year that it spans.
    pub watched_days: usize,
    /// First and last day of the stretch of the year that it was cut from (1..=366, may wrap).
    pub stretch: (u16, u16),
    /// 5 % have gone through.
    pub arrival: Option<DateEstimate>,
    /// 25 % have gone through.
    pub first_quarter: Option<DateEstimate>,
    /// Half have gone through.
    pub median: Option<DateEstimate>,
    /// 75 % have gone through.
    pub third_quarter: Option<DateEstimate>,
    /// The curve's highest day.
    pub peak: Option<DateEstimate>,
    /// 95 % have gone through.
    pub departure: Option<DateEstimate>,
    /// Birds were already about in numbers when the watch begins.
    pub begun_before_watch: bool,
    /// Birds were still about in numbers when the watch ends.
    pub ends_after_watch: bool,
    /// How late each season ran that tells it, against the long-term curve.
    #[serde(default)]
    pub shifts: Vec<SeasonShift>,
    /// Whether its dates have moved over the years; None without a curve of its own.
    #[serde(default)]
    pub change: Option<DateChanges>,
    /// Whether its timing follows the temperature before it; None where no temperature is known.
    #[serde(default)]
    pub temperature: Option<Gate>,
    /// With too few records for a curve: where in the year the records lie.
    #[serde(default)]
    pub records: Vec<FewRecords>,
}

/// How the dates of a passage have moved over the years. None where the seasons are too few or
/// tell too little to say, or where the watch cuts that end of the passage off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DateChanges {
    /// Of the arrival.
    pub arrival: Option<Change>,
    /// Of the median.
    pub median: Option<Change>,
    /// Of the departure.
    pub departure: Option<Change>,
}
