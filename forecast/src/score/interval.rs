//! Scores of quantiles and intervals.

use super::{ScoreError, finite};

/// The pinball (quantile) loss of `quantile` as the forecast of the `tau` quantile, 0 < tau < 1
/// (Koenker & Bassett 1978; Gneiting & Raftery 2007, section 6.1).
pub fn pinball(quantile: f64, tau: f64, observed: f64) -> Result<f64, ScoreError> {
    inside("tau", tau)?;
    finite(&[quantile, observed])?;
    let gap = observed - quantile;
    Ok(if gap >= 0.0 {
        tau * gap
    } else {
        (tau - 1.0) * gap
    })
}

/// The interval score of a central 1 - alpha interval (Gneiting & Raftery 2007, eq. 43): its
/// width, and 2 / alpha for each unit by which it missed.
pub fn interval(lower: f64, upper: f64, alpha: f64, observed: f64) -> Result<f64, ScoreError> {
    inside("alpha", alpha)?;
    finite(&[lower, upper, observed])?;
    if lower > upper {
        return Err(ScoreError::Setting {
            name: "the lower end",
            value: lower,
            expected: "at most the upper end",
        });
    }
    let missed = (lower - observed).max(0.0) + (observed - upper).max(0.0);
    Ok(upper - lower + 2.0 / alpha * missed)
}

fn inside(name: &'static str, value: f64) -> Result<(), ScoreError> {
    if value > 0.0 && value < 1.0 {
        return Ok(());
    }
    Err(ScoreError::Setting {
        name,
        value,
        expected: "between 0 and 1",
    })
}

/// How often intervals held what came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Coverage {
    /// Observations below their interval.
    pub below: usize,
    /// Observations inside.
    pub inside: usize,
    /// Observations above.
    pub above: usize,
}

impl Coverage {
    /// Counts one more observation; the ends belong to the interval.
    pub fn add(&mut self, lower: f64, upper: f64, observed: f64) {
        if observed < lower {
            self.below += 1;
        } else if observed > upper {
            self.above += 1;
        } else {
            self.inside += 1;
        }
    }

    /// Part inside; None before the first observation.
    pub fn rate(&self) -> Option<f64> {
        let all = self.below + self.inside + self.above;
        (all > 0).then(|| self.inside as f64 / all as f64)
    }
}
