//! What can be wrong with a chart.

use super::SpeciesCurve;
use chrono::NaiveDate;
use forecast::calendar::DAYS;

/// Why there is no chart.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChartError {
    /// Nothing to draw.
    #[error("a chart needs one species at least")]
    NoSpecies,
    /// The date lies outside the calendar.
    #[error("{0} has no calendar year to draw")]
    Date(NaiveDate),
    /// The watched mask has not one entry a day.
    #[error("the watched days are {0}, expected {DAYS}")]
    Watched(usize),
    /// A curve has not one entry a day.
    #[error("the curve of {species} has {mean} means and {intervals} intervals, expected {DAYS}")]
    Days {
        /// Scientific name.
        species: String,
        /// Number of means.
        mean: usize,
        /// Number of intervals.
        intervals: usize,
    },
    /// On a watched day the curve is no number of birds.
    #[error(
        "the curve of {species} on day {day} is {mean} ({low} to {high}), expected finite \
         numbers of 0 or more, low before high"
    )]
    Value {
        /// Scientific name.
        species: String,
        /// Day of the year.
        day: usize,
        /// Mean.
        mean: f64,
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// No site to draw.
    #[error("a chart of forecasts needs one site at least")]
    NoSite,
    /// A number that is none.
    #[error("{place} has {value}, expected a number")]
    NoNumber {
        /// whose
        place: String,
        /// the number
        value: f64,
    },
    /// A chance or a part that is none.
    #[error("{site} has a part of {value}, expected 0 to 1")]
    NoPart {
        /// Name of the site.
        site: String,
        /// The number.
        value: f64,
    },
    /// The drawing library refused.
    #[error("the chart could not be drawn: {0}")]
    Draw(String),
    /// The picture could not be made.
    #[error("the chart could not be turned into a PNG: {0}")]
    Raster(String),
}

pub(super) fn check(watched: &[bool], species: &[SpeciesCurve]) -> Result<(), ChartError> {
    if species.is_empty() {
        return Err(ChartError::NoSpecies);
    }
    if watched.len() != DAYS {
        return Err(ChartError::Watched(watched.len()));
    }
    species.iter().try_for_each(|s| check_curve(watched, s))
}

fn check_curve(watched: &[bool], curve: &SpeciesCurve) -> Result<(), ChartError> {
    if curve.mean.len() != DAYS || curve.interval.len() != DAYS {
        return Err(ChartError::Days {
            species: curve.scientific.clone(),
            mean: curve.mean.len(),
            intervals: curve.interval.len(),
        });
    }
    for day in (0..DAYS).filter(|d| watched[*d]) {
        let (mean, (low, high)) = (curve.mean[day], curve.interval[day]);
        let numbers = [mean, low, high].iter().all(|v| v.is_finite() && *v >= 0.0);
        if !numbers || low > high {
            return Err(ChartError::Value {
                species: curve.scientific.clone(),
                day: day + 1,
                mean,
                low,
                high,
            });
        }
    }
    Ok(())
}
