//! The negative binomial with mean mu and size theta (variance mu + mu^2/theta), and its
//! Poisson limit.

use serde::{Deserialize, Serialize};
use statrs::function::beta::beta_reg;
use statrs::function::gamma::{digamma, gamma_ur, ln_gamma};

/// How widely counts scatter about their mean.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Dispersion {
    /// Variance equals the mean: the limit theta -> infinity.
    Poisson,
    /// Size of the negative binomial, positive and finite.
    Theta(f64),
}

/// Above this many birds sums over birds give way to gamma functions.
const SUM_LIMIT: u32 = 20_000;
/// Terms of a tail's series before it gives way to an incomplete beta function.
const TERM_LIMIT: usize = 1_000;

impl Dispersion {
    /// theta, None at the Poisson limit.
    pub fn theta(self) -> Option<f64> {
        match self {
            Dispersion::Poisson => None,
            Dispersion::Theta(theta) => Some(theta),
        }
    }

    /// The dispersion with log theta moved by `shift`.
    pub fn scaled(self, shift: f64) -> Self {
        match self {
            Dispersion::Poisson => Dispersion::Poisson,
            Dispersion::Theta(theta) => Dispersion::Theta(theta * shift.exp()),
        }
    }

    /// Natural logarithm of P(Y = y).
    pub fn ln_pmf(self, y: u32, mu: f64) -> f64 {
        let n = f64::from(y);
        let part = match self {
            Dispersion::Poisson => -mu,
            Dispersion::Theta(theta) => -(n + theta) * (mu / theta).ln_1p(),
        };
        let power = if y == 0 { 0.0 } else { n * mu.ln() };
        part + power + self.ln_rising(y) - ln_gamma(n + 1.0)
    }

    /// P(Y = 0).
    pub fn zero(self, mu: f64) -> f64 {
        match self {
            Dispersion::Poisson => (-mu).exp(),
            Dispersion::Theta(theta) => (-theta * (mu / theta).ln_1p()).exp(),
        }
    }

    /// P(Y <= y).
    pub fn cdf(self, y: u32, mu: f64) -> f64 {
        let n = f64::from(y);
        match self {
            _ if mu <= 0.0 => 1.0,
            Dispersion::Poisson => gamma_ur(n + 1.0, mu),
            Dispersion::Theta(theta) => beta_reg(theta, n + 1.0, theta / (theta + mu)),
        }
    }

    /// Smallest y with P(Y <= y) >= `p`; None for `p` outside 0..1 or beyond `u32`.
    pub fn quantile(self, p: f64, mu: f64) -> Option<u32> {
        if !(0.0..1.0).contains(&p) || !mu.is_finite() {
            return None;
        }
        // a distribution function that meets `p` exactly must not miss it by rounding (R's qnbinom
        // does the same)
        let p = p * (1.0 - 1000.0 * f64::EPSILON);
        let mut high = 1u32;
        while self.cdf(high, mu) < p {
            high = high.checked_mul(2)?;
        }
        let (mut low, mut high) = (0u32, high);
        while low < high {
            let middle = low + (high - low) / 2;
            if self.cdf(middle, mu) >= p {
                high = middle
            } else {
                low = middle + 1
            }
        }
        Some(low)
    }

    /// log of Gamma(theta + y) / (Gamma(theta) theta^y) = sum of log(1 + i/theta), i < y.
    pub fn ln_rising(self, y: u32) -> f64 {
        let Dispersion::Theta(theta) = self else {
            return 0.0;
        };
        if y <= SUM_LIMIT {
            return (0..y).map(|i| (f64::from(i) / theta).ln_1p()).sum();
        }
        ln_gamma(theta + f64::from(y)) - ln_gamma(theta) - f64::from(y) * theta.ln()
    }

    /// First and second derivative of [`Self::ln_rising`] by tau = log theta.
    pub fn ln_rising_by_tau(self, y: u32) -> (f64, f64) {
        let Dispersion::Theta(theta) = self else {
            return (0.0, 0.0);
        };
        let n = f64::from(y);
        if y <= SUM_LIMIT {
            return (0..y).map(f64::from).fold((0.0, 0.0), |(a, b), i| {
                let sum = theta + i;
                (a - i / sum, b + i * theta / (sum * sum))
            });
        }
        let first = theta * (digamma(theta + n) - digamma(theta)) - n;
        let h = theta * 1e-4;
        let at = |t: f64| t * (digamma(t + n) - digamma(t));
        (first, theta * (at(theta + h) - at(theta - h)) / (2.0 * h))
    }
}

/// Natural logarithm of P(Y >= n).
///
/// Summed birds by birds where that is quick, as exact as the terms themselves: an incomplete
/// beta function loses about ten digits of sixteen at large theta.
pub fn ln_tail(n: u32, mu: f64, dispersion: Dispersion) -> f64 {
    if n == 0 {
        return 0.0;
    }
    if mu <= 0.0 {
        return f64::NEG_INFINITY;
    }
    if n == 1 {
        // log(1 - e^l), the better of two forms (Maechler 2012, R package Rmpfr, "log1mexp")
        let none = dispersion.ln_pmf(0, mu);
        return if none > -std::f64::consts::LN_2 {
            (-none.exp_m1()).ln()
        } else {
            (-none.exp()).ln_1p()
        };
    }
    match below(n, mu, dispersion) {
        Some(sum) if sum < 0.5 => return (-sum).ln_1p(),
        Some(_) => {
            if let Some(sum) = above_in_first_terms(n, mu, dispersion) {
                return dispersion.ln_pmf(n, mu) + sum.ln();
            }
        }
        None => {}
    }
    let y = f64::from(n);
    let tail = match dispersion {
        Dispersion::Poisson => statrs::function::gamma::gamma_lr(y, mu),
        Dispersion::Theta(theta) => beta_reg(y, theta, mu / (theta + mu)),
    };
    // where the tail underflows its first term is all of it that matters
    if tail > 1e-300 {
        tail.ln()
    } else {
        dispersion.ln_pmf(n, mu)
    }
}

/// P(Y = y + 1) / P(Y = y).
fn ratio(y: f64, mu: f64, dispersion: Dispersion) -> f64 {
    match dispersion {
        Dispersion::Poisson => mu / (y + 1.0),
        Dispersion::Theta(theta) => (y + theta) / (y + 1.0) * (mu / (theta + mu)),
    }
}

/// P(Y < n), summed downwards from n - 1; None beyond [`SUM_LIMIT`].
fn below(n: u32, mu: f64, dispersion: Dispersion) -> Option<f64> {
    if n > SUM_LIMIT {
        return None;
    }
    let mut term = dispersion.ln_pmf(n - 1, mu).exp();
    let mut sum = term;
    for y in (0..n - 1).rev() {
        let step = ratio(f64::from(y), mu, dispersion);
        term /= step;
        sum += term;
        // terms only fall from here on
        if step > 1.0 && term < 1e-18 * sum {
            break;
        }
    }
    Some(sum)
}

/// P(Y >= n) / P(Y = n); None where that takes more than [`TERM_LIMIT`] terms,
/// as it does where theta is small against the mean and the incomplete beta function is sound.
fn above_in_first_terms(n: u32, mu: f64, dispersion: Dispersion) -> Option<f64> {
    let (mut term, mut sum) = (1.0, 1.0);
    for y in (n..).take(TERM_LIMIT) {
        let step = ratio(f64::from(y), mu, dispersion);
        term *= step;
        sum += term;
        // the rest is less than a geometric series
        if step < 1.0 && term * step < 1e-17 * sum * (1.0 - step) {
            return Some(sum);
        }
    }
    None
}

/// log(1 + a) - a/(1 + a), without cancellation for small a.
pub(crate) fn log1p_minus_ratio(a: f64) -> f64 {
    if a < 1e-3 {
        // sum over k >= 2 of (-1)^k (k-1)/k a^k
        let a2 = a * a;
        return a2 * (0.5 - a * (2.0 / 3.0) + a2 * 0.75 - a2 * a * 0.8 + a2 * a2 * (5.0 / 6.0));
    }
    a.ln_1p() - a / (1.0 + a)
}
