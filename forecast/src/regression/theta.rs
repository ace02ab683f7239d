//! Theta by maximum likelihood: Newton's method on the profile likelihood of its logarithm.

use super::CountData;
use super::point::Point;
use crate::negative_binomial::Dispersion;
use crate::year_curve::newton::FitError;
use nalgebra::DVector;

/// Longest step of log theta.
const LONGEST_STEP: f64 = 2.0;
/// Beyond this log theta the Poisson limit is what the likelihood can tell.
const POISSON_BEYOND: f64 = 18.0;
const MAX_STEPS: usize = 200;

pub(super) fn estimate(data: &CountData, start: DVector<f64>) -> Result<Point, FitError> {
    let poisson = Point::at(data, Dispersion::Poisson, start)?;
    if poisson.excess_scatter(data) <= 0.0 {
        return Ok(poisson);
    }
    let mut tau = poisson.moment_theta(data).ln();
    let mut at = Point::at(data, Dispersion::Theta(tau.exp()), poisson.beta.clone())?;
    for _ in 0..MAX_STEPS {
        let (slope, bend) = at.profile(data)?;
        if slope.abs() < 1e-9 * (1.0 + at.log_likelihood.abs()).sqrt() {
            return Ok(at);
        }
        // where the profile bends upwards, walk uphill at a fixed pace
        let newton = if bend > 0.0 {
            slope / bend
        } else {
            slope.signum()
        };
        let step = newton.clamp(-LONGEST_STEP, LONGEST_STEP);
        match uphill(data, &at, tau, step)? {
            Some(better) => (at, tau) = better,
            // no step left at the precision of the likelihood itself
            None => return Ok(at),
        }
        if tau > POISSON_BEYOND {
            return Ok(poisson);
        }
    }
    Err(FitError::NotConverged(MAX_STEPS))
}

/// The longest of the step and its halves that does not lower the likelihood.
fn uphill(
    data: &CountData,
    at: &Point,
    tau: f64,
    mut step: f64,
) -> Result<Option<(Point, f64)>, FitError> {
    let slack = 1e-12 * (1.0 + at.log_likelihood.abs());
    while step.abs() > 1e-9 {
        let dispersion = Dispersion::Theta((tau + step).exp());
        let trial = Point::at(data, dispersion, at.beta.clone())?;
        if trial.log_likelihood >= at.log_likelihood - slack {
            return Ok(Some((trial, tau + step)));
        }
        step *= 0.5;
    }
    Ok(None)
}
