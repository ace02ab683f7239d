//! The continuous ranked probability score: the integral of (F(x) - 1{x >= y})^2, in the unit of
//! the observation; for one certain forecast the absolute error.

use super::{ScoreError, at_least, finite};
use crate::bessel::scaled_i;
use crate::negative_binomial::Dispersion;
use crate::normal;
use statrs::distribution::{Continuous, Normal};
use statrs::statistics::Distribution;
use std::f64::consts::PI;

/// Above this much unplaced probability a table of a distribution is refused as cut short.
pub const TAIL: f64 = 1e-9;

/// Of counts, from P(Y <= 0), P(Y <= 1), ...: the exact sum. The table must reach 1 within
/// [`TAIL`]; beyond its end the distribution is 1, which is out by less than [`TAIL`] times the
/// mean number of birds beyond it.
pub fn discrete(cdf: &[f64], observed: u32) -> Result<f64, ScoreError> {
    check_cdf(cdf)?;
    let observed = observed as usize;
    let term = |(k, f): (usize, &f64)| {
        let step = if k >= observed { 1.0 } else { 0.0 };
        (f - step).powi(2)
    };
    let inside: f64 = cdf.iter().enumerate().map(term).sum();
    Ok(inside + observed.saturating_sub(cdf.len()) as f64)
}

/// Refuses a table that falls, leaves 0..=1 or stops short of 1.
fn check_cdf(cdf: &[f64]) -> Result<(), ScoreError> {
    at_least(cdf.len(), 1)?;
    let mut before = 0.0;
    for (at, &value) in cdf.iter().enumerate() {
        // sums of probabilities are out by rounding
        let rises = value >= before - 1e-12 && value <= 1.0 + 1e-9;
        if !rises {
            return Err(ScoreError::NotACdf { at, value });
        }
        before = value;
    }
    if before < 1.0 - TAIL {
        let at = cdf.len() - 1;
        return Err(ScoreError::NotACdf { at, value: before });
    }
    Ok(())
}

/// Of a normal forecast (Gneiting et al. 2005 MWR 133:1098, eq. 5).
pub fn normal(forecast: &Normal, observed: f64) -> f64 {
    let (Some(mean), Some(sd)) = (forecast.mean(), forecast.std_dev()) else {
        return f64::NAN;
    };
    let z = (observed - mean) / sd;
    let standard = Normal::standard();
    sd * (z * (2.0 * normal::cdf(z) - 1.0) + 2.0 * standard.pdf(z) - 1.0 / PI.sqrt())
}

/// Of a negative binomial or Poisson forecast with mean `mu`: E|Y - y| - E|Y - Y'| / 2
/// (Wei & Held 2014 TEST 23:787-805), in a form that is stable for every mean and dispersion.
pub fn count(dispersion: Dispersion, mu: f64, observed: u32) -> f64 {
    if mu == 0.0 {
        return f64::from(observed);
    }
    distance(dispersion, mu, observed) - 0.5 * mean_difference(dispersion, mu)
}

/// E|Y - y| = y (2 F(y) - 1) - mu (2 G(y - 1) - 1): as k f(k) = mu g(k - 1), where g has the same
/// p and size theta + 1, and for a Poisson is f itself.
fn distance(dispersion: Dispersion, mu: f64, observed: u32) -> f64 {
    let y = f64::from(observed);
    let below = match (observed, dispersion) {
        (0, _) => 0.0,
        (_, Dispersion::Poisson) => dispersion.cdf(observed - 1, mu),
        (_, Dispersion::Theta(theta)) => {
            let larger = Dispersion::Theta(theta + 1.0);
            larger.cdf(observed - 1, mu * (theta + 1.0) / theta)
        }
    };
    y * (2.0 * dispersion.cdf(observed, mu) - 1.0) - mu * (2.0 * below - 1.0)
}

/// Gini's mean difference E|Y - Y'| of two independent counts; not a number for a mean that is
/// negative or not finite.
pub fn mean_difference(dispersion: Dispersion, mu: f64) -> f64 {
    if !(mu >= 0.0 && mu.is_finite()) {
        return f64::NAN;
    }
    match dispersion {
        // Wei & Held 2014, section 3.1
        Dispersion::Poisson => 2.0 * mu * (scaled_i(0, 2.0 * mu) + scaled_i(1, 2.0 * mu)),
        Dispersion::Theta(theta) => negative_binomial_difference(theta, mu),
    }
}

/// Whole numbers have |d| = (1 / 2 pi) times the integral over the circle of
/// (1 - cos dt) / (1 - cos t), Fejer's kernel; the difference of two negative binomials has the
/// characteristic function (1 + 2c (1 - cos t))^-theta, c = mu / theta (1 + mu / theta). With
/// tan(t / 2) = e^s the integral is one over the line of a positive function that is analytic for
/// |Im s| < pi / 2 and dies off as e^-|s|: the trapezium rule with step 0.3 is out by
/// exp(-pi^2 / 0.3), 5e-15 of it. No sum over birds, no 2F1 with terms that cancel.
fn negative_binomial_difference(theta: f64, mu: f64) -> f64 {
    const STEP: f64 = 0.3;
    /// e^-36 of the integral lies beyond either end.
    const REACH: f64 = 36.0;
    let four_c = 4.0 * mu / theta * (1.0 + mu / theta);
    let term = |s: f64| {
        let u2 = (2.0 * s).exp();
        let log_phi = -theta * (four_c * u2 / (1.0 + u2)).ln_1p();
        -log_phi.exp_m1() * (-s).exp()
    };
    // 1 - phi turns at u^2 = 1 / (4 c theta) or 1 / (4 c), whichever comes first
    let first = -0.5 * (four_c * theta.max(1.0)).max(1.0).ln() - REACH;
    let steps = ((REACH - first) / STEP).ceil() as u32;
    let sum: f64 = (0..=steps).map(|i| term(first + f64::from(i) * STEP)).sum();
    sum * STEP / PI
}

/// Of an ensemble as the discrete distribution that it is (Gneiting & Raftery 2007, eq. 20).
pub fn ensemble(members: &[f64], observed: f64) -> Result<f64, ScoreError> {
    at_least(members.len(), 1)?;
    let m = members.len() as f64;
    let (distance, pairs) = energy(members, observed)?;
    Ok(distance / m - pairs / (m * m))
}

/// Of an ensemble as a sample: unbiased for the distribution that it was drawn from (Ferro 2014
/// QJRMS 140:1917, the fair score). Needs two members.
pub fn fair_ensemble(members: &[f64], observed: f64) -> Result<f64, ScoreError> {
    at_least(members.len(), 2)?;
    let m = members.len() as f64;
    let (distance, pairs) = energy(members, observed)?;
    Ok(distance / m - pairs / (m * (m - 1.0)))
}

/// Sum of |x - y|, and sum of |x - x'| over the pairs, each pair once, by order statistics.
fn energy(members: &[f64], observed: f64) -> Result<(f64, f64), ScoreError> {
    finite(members)?;
    finite(&[observed])?;
    let mut sorted = members.to_vec();
    sorted.sort_by(f64::total_cmp);
    let m = sorted.len() as f64;
    let spread = |(i, x): (usize, &f64)| x * (2.0 * i as f64 + 1.0 - m);
    let pairs = sorted.iter().enumerate().map(spread).sum();
    let distance = members.iter().map(|x| (x - observed).abs()).sum();
    Ok((distance, pairs))
}

/// The ranked probability score of ordered classes: the sum of squared differences of the
/// cumulative forecast and outcome (Epstein 1969 J. Appl. Meteor. 8:985), not divided by the
/// number of classes. `observed` is the class that came, from 0.
pub fn ranked_probability(probabilities: &[f64], observed: usize) -> Result<f64, ScoreError> {
    at_least(probabilities.len(), observed + 1)?;
    if let Some(bad) = probabilities.iter().find(|p| !(0.0..=1.0).contains(*p)) {
        return Err(ScoreError::NotAProbability(*bad));
    }
    let total: f64 = probabilities.iter().sum();
    if (total - 1.0).abs() > 1e-6 {
        return Err(ScoreError::NotAProbability(total));
    }
    let mut through = 0.0;
    let mut score = 0.0;
    for (k, p) in probabilities.iter().enumerate() {
        through += p;
        let step = if k >= observed { 1.0 } else { 0.0 };
        score += f64::powi(through - step, 2);
    }
    Ok(score)
}
