//! Learning from a season under way, in forms that can be checked by hand. The forecast itself
//! updates level and timing together on a grid; these are its one-dimensional relatives.

use crate::negative_binomial::Dispersion;
use statrs::distribution::{ContinuousCDF, Gamma};

/// What can't be learned from.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum UpdateError {
    /// A number outside its range.
    #[error("{name} is {value}, expected {expected}")]
    NotUsable {
        /// what was given
        name: &'static str,
        /// as what
        value: f64,
        /// what may be
        expected: &'static str,
    },
    /// One expectation a count is needed.
    #[error("{counts} counts but {expected} expected numbers")]
    Length {
        /// counts given
        counts: usize,
        /// expected numbers given
        expected: usize,
    },
    /// The counts rule out everything that was thought possible.
    #[error("the counts are impossible under every shift considered")]
    Impossible,
}

fn positive(name: &'static str, value: f64) -> Result<f64, UpdateError> {
    if value > 0.0 && value.is_finite() {
        return Ok(value);
    }
    Err(UpdateError::NotUsable {
        name,
        value,
        expected: "a positive number",
    })
}

fn number(name: &'static str, value: f64) -> Result<f64, UpdateError> {
    if value.is_finite() {
        return Ok(value);
    }
    Err(UpdateError::NotUsable {
        name,
        value,
        expected: "a finite number",
    })
}

/// How many times the usual numbers a season has: a gamma distribution. Counts are Poisson about
/// the factor times the expected number (Gelman et al., Bayesian Data Analysis, section 2.6).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Abundance {
    gamma: Gamma,
}

impl Abundance {
    /// Shape and rate of the prior, both positive; the mean is shape / rate.
    pub fn new(shape: f64, rate: f64) -> Result<Self, UpdateError> {
        positive("the shape", shape)?;
        positive("the rate", rate)?;
        let gamma = Gamma::new(shape, rate).map_err(|_| UpdateError::Impossible)?;
        Ok(Abundance { gamma })
    }

    /// After counts, each with the number that was expected at the average season.
    pub fn updated(&self, counts: &[u32], expected: &[f64]) -> Result<Self, UpdateError> {
        if counts.len() != expected.len() {
            return Err(UpdateError::Length {
                counts: counts.len(),
                expected: expected.len(),
            });
        }
        for e in expected {
            positive("an expected number", *e)?;
        }
        let birds: f64 = counts.iter().copied().map(f64::from).sum();
        let usual: f64 = expected.iter().sum();
        Abundance::new(self.shape() + birds, self.rate() + usual)
    }

    /// Shape.
    pub fn shape(&self) -> f64 {
        self.gamma.shape()
    }

    /// Rate.
    pub fn rate(&self) -> f64 {
        self.gamma.rate()
    }

    /// Mean.
    pub fn mean(&self) -> f64 {
        self.shape() / self.rate()
    }

    /// The factor below which it lies with probability `p`; None unless 0 < p < 1.
    pub fn quantile(&self, p: f64) -> Option<f64> {
        (p > 0.0 && p < 1.0).then(|| self.gamma.inverse_cdf(p))
    }

    /// Mean and size of the next count, a negative binomial, where `expected` birds are usual.
    pub fn predictive(&self, expected: f64) -> (f64, Dispersion) {
        (self.mean() * expected, Dispersion::Theta(self.shape()))
    }
}

/// What is thought of a date or a shift in days: a normal distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalBelief {
    /// Mean.
    pub mean: f64,
    /// Standard deviation, positive.
    pub sd: f64,
}

impl NormalBelief {
    /// After an observation with its own standard error; and the weight, 0..=1, that it had.
    pub fn updated(&self, observed: f64, error_sd: f64) -> Result<(Self, f64), UpdateError> {
        let prior = positive("the standard deviation", self.sd)?.powi(2);
        let error = positive("the standard error", error_sd)?.powi(2);
        let gap = number("the observation", observed)? - number("the mean", self.mean)?;
        let weight = prior / (prior + error);
        let belief = NormalBelief {
            mean: self.mean + weight * gap,
            sd: (weight * error).sqrt(),
        };
        Ok((belief, weight))
    }

    /// As weights on a grid of shifts, for [`shift_posterior`].
    pub fn on_grid(&self, shifts: impl IntoIterator<Item = f64>) -> Vec<(f64, f64)> {
        let weight = |s: f64| (-0.5 * ((s - self.mean) / self.sd).powi(2)).exp();
        shifts.into_iter().map(|s| (s, weight(s))).collect()
    }
}

/// How many days a season runs late (+) or early (-), as probabilities on a grid.
#[derive(Debug, Clone, PartialEq)]
pub struct ShiftPosterior {
    grid: Vec<(f64, f64)>,
}

/// From a prior, as (shift in days, weight >= 0) that need not sum to 1, and counts, as (day,
/// birds): a season that runs `s` days late has on day `d` what `curve` gives for day `d - s`.
pub fn shift_posterior(
    prior: &[(f64, f64)],
    curve: impl Fn(f64) -> f64,
    dispersion: Dispersion,
    counts: &[(f64, u32)],
) -> Result<ShiftPosterior, UpdateError> {
    let log_weight = |(shift, weight): &(f64, f64)| -> Result<f64, UpdateError> {
        number("a shift", *shift)?;
        let mut sum = weight.ln();
        for (day, birds) in counts {
            sum += dispersion.ln_pmf(*birds, curve(day - shift));
        }
        if sum.is_nan() {
            return number("a weight or the curve", f64::NAN);
        }
        Ok(sum)
    };
    let logs: Vec<f64> = prior.iter().map(log_weight).collect::<Result<_, _>>()?;
    let highest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !highest.is_finite() {
        return Err(UpdateError::Impossible);
    }
    let weights: Vec<f64> = logs.iter().map(|l| (l - highest).exp()).collect();
    let total: f64 = weights.iter().sum();
    let shifts = prior.iter().map(|(s, _)| *s);
    Ok(ShiftPosterior {
        grid: shifts.zip(weights.iter().map(|w| w / total)).collect(),
    })
}

impl ShiftPosterior {
    /// Shifts in days with their probabilities.
    pub fn grid(&self) -> &[(f64, f64)] {
        &self.grid
    }

    /// Mean in days.
    pub fn mean(&self) -> f64 {
        self.grid.iter().map(|(s, p)| s * p).sum()
    }

    /// Standard deviation in days.
    pub fn sd(&self) -> f64 {
        let mean = self.mean();
        let square = |(s, p): &(f64, f64)| p * (s - mean).powi(2);
        self.grid.iter().map(square).sum::<f64>().sqrt()
    }

    /// The most probable shift, the earlier one of equals.
    pub fn mode(&self) -> f64 {
        let higher = |best: (f64, f64), next: &(f64, f64)| {
            let wins = next.1 > best.1 || (next.1 == best.1 && next.0 < best.0);
            if wins { *next } else { best }
        };
        self.grid.iter().fold((0.0, -1.0), higher).0
    }

    /// Probability that the season runs early, by more than nothing.
    pub fn earlier(&self) -> f64 {
        let early = self.grid.iter().filter(|(s, _)| *s < 0.0);
        early.map(|(_, p)| p).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gamma_posterior_is_bayes_on_a_grid() {
        let prior = Abundance::new(3.0, 2.0).expect("a prior");
        let (counts, expected) = ([4u32, 0, 9], [1.5, 0.5, 4.0]);
        let posterior = prior.updated(&counts, &expected).expect("counts");
        let density = |x: f64| {
            let likelihood: f64 = counts
                .iter()
                .zip(&expected)
                .map(|(y, e)| Dispersion::Poisson.ln_pmf(*y, x * e))
                .sum();
            x.powi(2) * (-2.0 * x + likelihood).exp()
        };
        let grid: Vec<f64> = (1..20_000).map(|i| f64::from(i) * 5e-4).collect();
        let total: f64 = grid.iter().map(|x| density(*x)).sum();
        let mean: f64 = grid.iter().map(|x| x * density(*x)).sum::<f64>() / total;
        assert!((posterior.mean() - mean).abs() < 1e-6, "{mean}");
        let tenth = posterior.quantile(0.1).expect("inside");
        let below: f64 = grid
            .iter()
            .filter(|x| **x <= tenth)
            .map(|x| density(*x))
            .sum();
        assert!((below / total - 0.1).abs() < 1e-3);
        // the predictive is the Poisson averaged over the posterior
        let (mu, size) = posterior.predictive(2.5);
        let three = |x: &f64| density(*x) * Dispersion::Poisson.ln_pmf(3, 2.5 * x).exp();
        let slow = grid.iter().map(three).sum::<f64>() / total;
        assert!((size.ln_pmf(3, mu).exp() - slow).abs() < 1e-6);
    }

    #[test]
    fn the_normal_update_is_the_grid_update_in_its_limit() {
        // one huge Poisson count on an exponential slope measures the shift almost normally
        let belief = NormalBelief { mean: 1.0, sd: 3.0 };
        let prior = belief.on_grid((-4000..=4000).map(|i| f64::from(i) / 200.0));
        let curve = |d: f64| 4e4 * (0.01 * d).exp();
        let posterior = shift_posterior(&prior, curve, Dispersion::Poisson, &[(0.0, 39_000)]);
        let posterior = posterior.expect("possible");
        // log(mu) = log 4e4 - 0.01 s; a count of n has log sd 1/sqrt(n)
        let observed = -(39_000.0f64 / 4e4).ln() / 0.01;
        let error = 1.0 / (0.01 * 39_000.0f64.sqrt());
        let (closed, weight) = belief.updated(observed, error).expect("numbers");
        assert!((posterior.mean() - closed.mean).abs() < 0.01, "{closed:?}");
        assert!((posterior.sd() - closed.sd).abs() < 0.01);
        assert!((0.9..1.0).contains(&weight));
    }

    #[test]
    fn late_seasons_shift_to_the_right() {
        let prior = NormalBelief { mean: 0.0, sd: 6.0 }.on_grid((-30..=30).map(f64::from));
        let curve = |d: f64| 20.0 * (-0.5 * ((d - 120.0) / 6.0).powi(2)).exp() + 1e-3;
        let late = [(110.0, 0), (120.0, 9), (128.0, 20)];
        let posterior = shift_posterior(&prior, curve, Dispersion::Theta(5.0), &late);
        let posterior = posterior.expect("possible");
        assert!(posterior.mean() > 4.0 && posterior.earlier() < 0.02);
        let total: f64 = posterior.grid().iter().map(|(_, p)| p).sum();
        assert!((total - 1.0).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_is_said() {
        assert!(Abundance::new(0.0, 1.0).is_err());
        let prior = Abundance::new(1.0, 1.0).expect("a prior");
        assert!(prior.updated(&[1, 2], &[1.0]).is_err());
        assert!(prior.updated(&[1], &[0.0]).is_err());
        assert_eq!(prior.quantile(1.0), None);
        let belief = NormalBelief { mean: 0.0, sd: 1.0 };
        assert!(belief.updated(1.0, 0.0).is_err());
        let none = shift_posterior(&[(0.0, 1.0)], |_| 0.0, Dispersion::Poisson, &[(1.0, 3)]);
        assert_eq!(none, Err(UpdateError::Impossible));
        let broken = shift_posterior(
            &[(0.0, 1.0)],
            |_| f64::NAN,
            Dispersion::Poisson,
            &[(1.0, 3)],
        );
        assert!(broken.is_err());
    }
}
