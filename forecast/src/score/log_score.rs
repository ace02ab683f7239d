//! The logarithmic score, -log of the probability (or density) given to what came, in nats; and
//! the score of Dawid & Sebastiani, which looks at mean and variance only.

use super::{Issued, ScoreError, check_issued};
use crate::negative_binomial::Dispersion;
use statrs::distribution::{Continuous, Normal};

/// Of a normal forecast.
pub fn normal(forecast: &Normal, observed: f64) -> f64 {
    -forecast.ln_pdf(observed)
}

/// Of a negative binomial or Poisson forecast with mean `mu`; infinite where it was ruled out.
pub fn count(dispersion: Dispersion, mu: f64, observed: u32) -> f64 {
    -dispersion.ln_pmf(observed, mu)
}

/// Of any forecast from its mean and standard deviation: ((y - mean) / sd)^2 + 2 log sd
/// (Dawid & Sebastiani 1999 Ann. Statist. 27:65; Gneiting & Raftery 2007, eq. 27).
pub fn dawid_sebastiani(mean: f64, sd: f64, observed: f64) -> f64 {
    ((observed - mean) / sd).powi(2) + 2.0 * sd.ln()
}

/// Standard deviation of a count forecast.
pub fn count_sd(dispersion: Dispersion, mu: f64) -> f64 {
    match dispersion {
        Dispersion::Poisson => mu.sqrt(),
        Dispersion::Theta(theta) => (mu + mu * mu / theta).sqrt(),
    }
}

/// Mean log loss of chances, in nats. Infinite where something came that was ruled out: a
/// forecast must not say 0 or 1 of what it can't know.
pub fn log_loss(issued: &[Issued]) -> Result<f64, ScoreError> {
    check_issued(issued)?;
    let loss = |i: &Issued| {
        if i.happened {
            -i.chance.ln()
        } else {
            -(-i.chance).ln_1p()
        }
    };
    Ok(issued.iter().map(loss).sum::<f64>() / issued.len() as f64)
}
