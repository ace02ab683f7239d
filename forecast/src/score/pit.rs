//! The probability integral transform of count forecasts: if they are right it is even.

use super::{ScoreError, at_least};
use crate::negative_binomial::Dispersion;

/// What a forecast says of the count that came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// P(Y < y).
    pub lower: f64,
    /// P(Y <= y).
    pub upper: f64,
}

impl Step {
    /// Of a negative binomial or Poisson forecast with mean `mu`.
    pub fn of_count(dispersion: Dispersion, mu: f64, observed: u32) -> Self {
        let below = observed.checked_sub(1);
        Step {
            lower: below.map_or(0.0, |y| dispersion.cdf(y, mu)),
            upper: dispersion.cdf(observed, mu),
        }
    }

    /// Part of an evenly spread value between the two that lies at or below `u`.
    fn through(&self, u: f64) -> f64 {
        if u >= self.upper {
            1.0
        } else if u <= self.lower {
            0.0
        } else {
            (u - self.lower) / (self.upper - self.lower)
        }
    }
}

/// The nonrandomised histogram (Czado, Gneiting & Held 2009 Biometrics 65:1254-1261, eq. 2).
#[derive(Debug, Clone, PartialEq)]
pub struct Pit {
    /// Mean of the transform's distribution at 0, 1/J, ..., 1 (J + 1 values).
    pub cumulative: Vec<f64>,
    /// Mass in each of the J bins; 1/J each if the forecasts are right.
    pub mass: Vec<f64>,
}

/// The histogram in `bins` equal bins.
pub fn nonrandomised(steps: &[Step], bins: usize) -> Result<Pit, ScoreError> {
    at_least(steps.len(), 1)?;
    if bins == 0 {
        return Err(ScoreError::Setting {
            name: "the number of bins",
            value: 0.0,
            expected: "1 or more",
        });
    }
    let proper = |s: &Step| 0.0 <= s.lower && s.lower <= s.upper && s.upper <= 1.0;
    if let Some(bad) = steps.iter().find(|s| !proper(s)) {
        return Err(ScoreError::NotAProbability(bad.upper));
    }
    let n = steps.len() as f64;
    let at = |j: usize| {
        let u = j as f64 / bins as f64;
        // a forecast that ruled out zero for certain starts with a step at 0
        steps.iter().map(|s| s.through(u)).sum::<f64>() / n
    };
    let cumulative: Vec<f64> = (0..=bins).map(at).collect();
    let mass = cumulative.windows(2).map(|w| w[1] - w[0]).collect();
    Ok(Pit { cumulative, mass })
}
