//! Is one forecast better than another, or was it luck?

use super::{ScoreError, at_least, finite};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// The test of equal accuracy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DieboldMariano {
    /// Mean of the loss differences over its standard error (Diebold & Mariano 1995 JBES 13:253).
    pub statistic: f64,
    /// With the small sample correction of Harvey, Leybourne & Newbold 1997 Int. J. Forecasting
    /// 13:281.
    pub corrected: f64,
    /// Two-sided, from Student's t with n - 1 degrees of freedom on the corrected statistic.
    pub p_value: f64,
}

/// Tests loss differences, in time order, of forecasts `horizon` >= 1 steps ahead: their errors
/// may correlate over up to horizon - 1 steps, which the standard error takes in.
pub fn diebold_mariano(
    loss_differences: &[f64],
    horizon: usize,
) -> Result<DieboldMariano, ScoreError> {
    if horizon == 0 {
        return Err(ScoreError::Setting {
            name: "the horizon",
            value: 0.0,
            expected: "1 or more",
        });
    }
    at_least(loss_differences.len(), horizon + 1)?;
    finite(loss_differences)?;
    let n = loss_differences.len() as f64;
    let mean = loss_differences.iter().sum::<f64>() / n;
    let variance = long_run_variance(loss_differences, mean, horizon);
    // the truncated sum of autocovariances need not be positive (Diebold & Mariano 1995, 1.1)
    if variance <= f64::EPSILON * mean * mean {
        return Err(ScoreError::NoVariation);
    }
    let h = horizon as f64;
    let statistic = mean / (variance / n).sqrt();
    let corrected = statistic * ((n + 1.0 - 2.0 * h + h * (h - 1.0) / n) / n).sqrt();
    let t = StudentsT::new(0.0, 1.0, n - 1.0).map_err(|_| ScoreError::NoVariation)?;
    Ok(DieboldMariano {
        statistic,
        corrected,
        p_value: 2.0 * t.sf(corrected.abs()),
    })
}

fn long_run_variance(d: &[f64], mean: f64, horizon: usize) -> f64 {
    let covariance = |lag: usize| {
        let products = d
            .iter()
            .zip(&d[lag..])
            .map(|(a, b)| (a - mean) * (b - mean));
        products.sum::<f64>() / d.len() as f64
    };
    covariance(0) + 2.0 * (1..horizon).map(covariance).sum::<f64>()
}
