//! How early or late past seasons ran, as evidence for a regression.

use serde::{Deserialize, Serialize};

/// One season: days late (early is negative) and how well that is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SeasonShift {
    year: i32,
    shift_days: f64,
    sd_days: f64,
}

/// Numbers that are no seasons' shifts.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SeasonShiftError {
    /// Shifts are finite, standard deviations positive besides.
    #[error("season {year}: {shift_days} days with standard deviation {sd_days} is no shift")]
    NotUsable {
        /// season
        year: i32,
        /// shift
        shift_days: f64,
        /// its standard deviation
        sd_days: f64,
    },
    /// A season counts once.
    #[error("season {0} is there twice")]
    Twice(i32),
}

impl SeasonShift {
    /// A shift that no belief has drawn in.
    pub fn new(year: i32, shift_days: f64, sd_days: f64) -> Result<Self, SeasonShiftError> {
        if shift_days.is_finite() && sd_days.is_finite() && sd_days > 0.0 {
            return Ok(SeasonShift {
                year,
                shift_days,
                sd_days,
            });
        }
        Err(SeasonShiftError::NotUsable {
            year,
            shift_days,
            sd_days,
        })
    }

    /// A posterior's shift with the belief N(0, `belief_sd_days`^2) taken out again, so that a
    /// season with few birds isn't taken for one that ran on time. None where the counts told
    /// nothing beyond the belief.
    pub fn from_posterior(year: i32, mean: f64, sd: f64, belief_sd_days: f64) -> Option<Self> {
        let precision = sd.powi(-2);
        let told = precision - belief_sd_days.powi(-2);
        // below a hundredth of the posterior's own precision it is the rounding that speaks
        if told.is_nan() || told <= 0.01 * precision {
            return None;
        }
        SeasonShift::new(year, mean * precision / told, told.powf(-0.5)).ok()
    }

    /// The season, named by the year in which it began.
    pub fn year(self) -> i32 {
        self.year
    }

    /// Days late.
    pub fn shift_days(self) -> f64 {
        self.shift_days
    }

    /// Standard deviation of the shift, days.
    pub fn sd_days(self) -> f64 {
        self.sd_days
    }
}

/// In the order of the years, each once.
pub fn in_order(seasons: &[SeasonShift]) -> Result<Vec<SeasonShift>, SeasonShiftError> {
    let mut sorted = seasons.to_vec();
    sorted.sort_by_key(|s| s.year);
    match sorted.windows(2).find(|p| p[0].year == p[1].year) {
        Some(pair) => Err(SeasonShiftError::Twice(pair[1].year)),
        None => Ok(sorted),
    }
}

/// Weights of the seasons: 1 / (scatter^2 + sd^2). The scatter of true shifts, which no regressor
/// explains, keeps a season of many birds from outweighing all others. It is that of Paule &
/// Mandel 1982 (J. Res. Natl. Bur. Stand. 87:377-385; DerSimonian & Kacker 2007, Contemporary
/// Clinical Trials 28:105-114): the weighted squares of what `residuals` leaves, given weights,
/// come to `df`.
pub fn weights(
    seasons: &[SeasonShift],
    df: f64,
    residuals: impl Fn(&[f64]) -> Vec<f64>,
) -> Vec<f64> {
    let at = |scatter: f64| -> Vec<f64> {
        seasons
            .iter()
            .map(|s| 1.0 / (scatter + s.sd_days * s.sd_days))
            .collect()
    };
    let too_much = |scatter: f64| {
        let w = at(scatter);
        let squares = residuals(&w)
            .iter()
            .zip(&w)
            .map(|(r, w)| w * r * r)
            .sum::<f64>();
        squares > df
    };
    if df <= 0.0 || !too_much(0.0) {
        return at(0.0);
    }
    let mut high = 1.0;
    while too_much(high) {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if too_much(middle) {
            low = middle
        } else {
            high = middle
        }
    }
    at(high)
}

/// Weights about a common mean.
pub fn weights_about_mean(seasons: &[SeasonShift]) -> Vec<f64> {
    weights(seasons, seasons.len() as f64 - 1.0, |w| {
        let mean = weighted_mean(seasons.iter().map(|s| s.shift_days), w);
        seasons.iter().map(|s| s.shift_days - mean).collect()
    })
}

/// Mean of values by weights.
pub fn weighted_mean(values: impl Iterator<Item = f64>, weights: &[f64]) -> f64 {
    let sum: f64 = values.zip(weights).map(|(v, w)| v * w).sum();
    sum / weights.iter().sum::<f64>()
}

/// Seasons of equal weight that would tell as much (Kish 1965, Survey Sampling, section 11.7).
pub fn effective_number(weights: &[f64]) -> f64 {
    let total: f64 = weights.iter().sum();
    total * total / weights.iter().map(|w| w * w).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_belief_is_taken_out_again() {
        // likelihood N(6, 4^2) and belief N(0, 8^2) make N(4.8, 12.8)
        let s = SeasonShift::from_posterior(2001, 4.8, 12.8_f64.sqrt(), 8.0).unwrap();
        assert!((s.shift_days() - 6.0).abs() < 1e-12 && (s.sd_days() - 4.0).abs() < 1e-12);
        assert_eq!(SeasonShift::from_posterior(2001, 0.0, 8.0, 8.0), None);
        assert_eq!(SeasonShift::from_posterior(2001, 0.0, 9.0, 8.0), None);
        assert_eq!(SeasonShift::from_posterior(2001, 0.0, f64::NAN, 8.0), None);
    }

    #[test]
    fn the_scatter_solves_its_equation() {
        let values = [(-6.0, 0.5), (4.0, 1.0), (1.0, 3.0), (9.0, 0.7), (-2.0, 2.0)];
        let seasons: Vec<SeasonShift> = values
            .iter()
            .enumerate()
            .map(|(i, (shift, sd))| SeasonShift::new(i as i32, *shift, *sd).unwrap())
            .collect();
        let w = weights_about_mean(&seasons);
        let mean = weighted_mean(values.iter().map(|v| v.0), &w);
        let q: f64 = values
            .iter()
            .zip(&w)
            .map(|(v, w)| w * (v.0 - mean).powi(2))
            .sum();
        assert!((q - 4.0).abs() < 1e-9, "{q}");
        // shifts that agree better than their standard deviations let them
        let calm: Vec<SeasonShift> = (0..5)
            .map(|i| SeasonShift::new(i, f64::from(i % 2), 4.0).unwrap())
            .collect();
        assert!(
            weights_about_mean(&calm)
                .iter()
                .all(|w| (w - 1.0 / 16.0).abs() < 1e-15)
        );
    }

    #[test]
    fn unusable_seasons_are_refused() {
        assert!(SeasonShift::new(2000, f64::NAN, 1.0).is_err());
        assert!(SeasonShift::new(2000, 1.0, 0.0).is_err());
        let s = SeasonShift::new(2000, 1.0, 1.0).unwrap();
        assert_eq!(in_order(&[s, s]), Err(SeasonShiftError::Twice(2000)));
    }
}
