//! Degree days: how much warmth a day holds above a lower threshold, from its highest and lowest
//! temperature, and their sum over a season.
//!
//! Temperatures and thresholds share one scale (degrees Celsius in this workspace, though any
//! will do); results are in degrees of that scale times days.
//! Sources: Baskerville & Emin 1969, Ecology 50:514-517 (single sine); Allen 1976, Environmental
//! Entomology 5:388-396 (upper thresholds); McMaster & Wilhelm 1997, Agricultural and Forest
//! Meteorology 87:291-300 (methods 1 and 2).

use chrono::NaiveDate;
use std::f64::consts::{FRAC_PI_2, PI};

/// What happens above the upper threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutOff {
    /// Development goes on at the rate of the upper threshold.
    Horizontal,
    /// It slows by as much as it rose.
    Intermediate,
    /// It stops.
    Vertical,
}

/// How a day's temperature is thought to run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// A sine wave through the day's extremes.
    SingleSine,
    /// Straight lines between the day's extremes.
    SingleTriangle,
    /// The mean of the extremes, less the lower threshold, where positive.
    Average,
    /// As `Average`, the mean held at the upper threshold first (McMaster & Wilhelm, method 1).
    McMasterWilhelm1,
    /// The extremes are held between the thresholds before the mean is taken (method 2).
    McMasterWilhelm2,
}

/// Raw settings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Params {
    /// The method.
    pub method: Method,
    /// Threshold below which nothing counts.
    pub lower: f64,
    /// Threshold above which more warmth does not help, and how. McMaster & Wilhelm's methods
    /// hold temperatures at it (horizontal); `Average` has none.
    pub upper: Option<(f64, CutOff)>,
}

/// Checked settings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValidParams(Params);

/// Settings or temperatures that make no degree days.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum DegreeDayError {
    /// Thresholds must be numbers.
    #[error("the threshold {0} is not a finite number")]
    NotFinite(f64),
    /// The upper threshold must lie above the lower one.
    #[error("the upper threshold {upper} does not lie above the lower one {lower}")]
    Order {
        /// lower threshold
        lower: f64,
        /// upper threshold
        upper: f64,
    },
    /// The method has no such cut-off.
    #[error("{0:?} knows no cut-off of that kind")]
    CutOff(Method),
    /// A day's highest temperature lies below its lowest, or one is not a number.
    #[error("{max} cannot be the highest temperature of a day whose lowest is {min}")]
    Temperature {
        /// highest
        max: f64,
        /// lowest
        min: f64,
    },
    /// The series must hold every day once, in order.
    #[error("the temperature of {0} is missing or out of order")]
    Gap(NaiveDate),
}

impl Params {
    /// Checks the thresholds and that the method knows the cut-off.
    pub fn check(self) -> Result<ValidParams, DegreeDayError> {
        if !self.lower.is_finite() {
            return Err(DegreeDayError::NotFinite(self.lower));
        }
        let Some((upper, cut_off)) = self.upper else {
            return Ok(ValidParams(self));
        };
        if !upper.is_finite() {
            return Err(DegreeDayError::NotFinite(upper));
        }
        if upper <= self.lower {
            let lower = self.lower;
            return Err(DegreeDayError::Order { lower, upper });
        }
        match (self.method, cut_off) {
            (Method::SingleSine | Method::SingleTriangle, _) => Ok(ValidParams(self)),
            (Method::McMasterWilhelm1 | Method::McMasterWilhelm2, CutOff::Horizontal) => {
                Ok(ValidParams(self))
            }
            (method, _) => Err(DegreeDayError::CutOff(method)),
        }
    }
}

/// Highest and lowest temperature of a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayTemperature {
    max: f64,
    min: f64,
}

impl DayTemperature {
    /// Checks that both are numbers and the highest is not below the lowest.
    pub fn new(max: f64, min: f64) -> Result<Self, DegreeDayError> {
        if max.is_finite() && min.is_finite() && max >= min {
            Ok(DayTemperature { max, min })
        } else {
            Err(DegreeDayError::Temperature { max, min })
        }
    }

    /// A day of which only the mean is known.
    pub fn from_mean(mean: f64) -> Result<Self, DegreeDayError> {
        Self::new(mean, mean)
    }

    fn mean(self) -> f64 {
        0.5 * (self.max + self.min)
    }

    fn half_range(self) -> f64 {
        0.5 * (self.max - self.min)
    }

    /// Mean of the excess over `threshold`, and the part of the day above it, on a sine wave.
    fn sine_above(self, threshold: f64) -> (f64, f64) {
        let (mean, half) = (self.mean(), self.half_range());
        if self.max <= threshold {
            return (0.0, 0.0);
        }
        if self.min >= threshold {
            return (mean - threshold, 1.0);
        }
        let crossing = ((threshold - mean) / half).asin();
        let excess = (mean - threshold) * (FRAC_PI_2 - crossing) + half * crossing.cos();
        (excess / PI, (FRAC_PI_2 - crossing) / PI)
    }

    /// The same on straight lines between the extremes.
    fn triangle_above(self, threshold: f64) -> (f64, f64) {
        if self.max <= threshold {
            return (0.0, 0.0);
        }
        if self.min >= threshold {
            return (self.mean() - threshold, 1.0);
        }
        let part = (self.max - threshold) / (self.max - self.min);
        (0.5 * part * (self.max - threshold), part)
    }
}

/// Degree days of one day, 0 or more.
pub fn degree_days(day: DayTemperature, params: &ValidParams) -> f64 {
    let Params {
        method,
        lower,
        upper,
    } = params.0;
    let top = upper.map_or(f64::INFINITY, |(threshold, _)| threshold);
    match method {
        Method::SingleSine => cut(lower, upper, |t| day.sine_above(t)),
        Method::SingleTriangle => cut(lower, upper, |t| day.triangle_above(t)),
        Method::Average => (day.mean() - lower).max(0.0),
        Method::McMasterWilhelm1 => (day.mean().min(top) - lower).max(0.0),
        Method::McMasterWilhelm2 => {
            let held = |t: f64| t.clamp(lower, top);
            0.5 * (held(day.max) + held(day.min)) - lower
        }
    }
}

/// Applies the upper threshold to `above`, which tells the mean excess over a threshold and the
/// part of the day above it. The vertical cut-off also takes away what the hours above the
/// threshold hold below it.
fn cut(lower: f64, upper: Option<(f64, CutOff)>, above: impl Fn(f64) -> (f64, f64)) -> f64 {
    let whole = above(lower).0;
    let Some((upper, cut_off)) = upper else {
        return whole;
    };
    let (excess, part) = above(upper);
    match cut_off {
        CutOff::Horizontal => whole - excess,
        CutOff::Intermediate => whole - 2.0 * excess,
        CutOff::Vertical => whole - excess - (upper - lower) * part,
    }
}

/// Degree days summed from a first day on.
#[derive(Debug, Clone, PartialEq)]
pub struct Accumulated {
    first: NaiveDate,
    sums: Vec<f64>,
}

impl Accumulated {
    /// Sums over a series that holds every day once, in order; a missing day is an error, since
    /// leaving it out would make every later date late.
    pub fn over(
        days: &[(NaiveDate, DayTemperature)],
        params: &ValidParams,
    ) -> Result<Self, DegreeDayError> {
        let first = days.first().map_or(NaiveDate::MIN, |(date, _)| *date);
        let mut sum = 0.0;
        let mut sums = Vec::with_capacity(days.len());
        for ((date, day), expected) in days.iter().zip(first.iter_days()) {
            if *date != expected {
                return Err(DegreeDayError::Gap(expected));
            }
            sum += degree_days(*day, params);
            sums.push(sum);
        }
        Ok(Accumulated { first, sums })
    }

    /// Sum up to and with the date; None outside the series.
    pub fn through(&self, date: NaiveDate) -> Option<f64> {
        let day = usize::try_from((date - self.first).num_days()).ok()?;
        self.sums.get(day).copied()
    }

    /// Sum of the whole series, 0 for an empty one.
    pub fn total(&self) -> f64 {
        self.sums.last().copied().unwrap_or(0.0)
    }

    /// First date by whose end the sum is `goal` or more.
    pub fn first_reaching(&self, goal: f64) -> Option<NaiveDate> {
        let mut days = self.first.iter_days().zip(&self.sums);
        days.find(|(_, sum)| **sum >= goal).map(|(date, _)| date)
    }
}
