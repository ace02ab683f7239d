//! Log likelihood of one count under a negative binomial with log link, and its derivatives.
//!
//! With mean mu = exp(eta), size theta, variance mu + mu^2/theta (Hilbe 2011, Negative Binomial
//! Regression, 2nd ed., "NB2"). All forms are stable as theta grows to infinity (Poisson).

use crate::negative_binomial::{Dispersion, ln_tail, log1p_minus_ratio};
use crate::series::Count;

/// Log likelihood of a row without its constant (see [`constants`]) and derivatives by
/// eta and by tau = log theta.
#[derive(Debug, Clone, Copy, Default)]
pub struct Row {
    /// Log likelihood, constants in the mean left out.
    pub value: f64,
    /// d/d eta
    pub slope: f64,
    /// -d2/d eta2 (observed information)
    pub weight: f64,
    /// d weight/d eta
    pub weight_slope: f64,
    /// d/d tau
    pub by_tau: f64,
    /// d2/d eta d tau
    pub slope_by_tau: f64,
    /// d weight/d tau
    pub weight_by_tau: f64,
    /// d2/d tau2
    pub by_tau_tau: f64,
}

/// Value, slope and weight only: what a Newton step needs.
pub fn step_row(count: Count, eta: f64, dispersion: Dispersion) -> Option<(f64, f64, f64)> {
    let y = match count {
        Count::Exactly(n) | Count::About(n) => f64::from(n),
        Count::Unknown => return None,
        Count::AtLeast(_) | Count::Present => {
            return full_row(count, eta, dispersion).map(|r| (r.value, r.slope, r.weight));
        }
    };
    let mu = eta.exp();
    Some(match dispersion {
        Dispersion::Poisson => (y * eta - mu, y - mu, mu),
        Dispersion::Theta(theta) => {
            let (q, p) = (theta / (theta + mu), mu / (theta + mu));
            let weight = (y + theta) * p * q;
            (
                y * eta - (y + theta) * (mu / theta).ln_1p(),
                q * (y - mu),
                weight,
            )
        }
    })
}

/// Everything the smoothing criterion's gradient needs; None for `Unknown`.
pub fn full_row(count: Count, eta: f64, dispersion: Dispersion) -> Option<Row> {
    match count {
        Count::Unknown => None,
        Count::Exactly(n) | Count::About(n) => Some(exact_row(f64::from(n), eta, dispersion)),
        Count::AtLeast(0) => Some(Row::default()),
        Count::AtLeast(n) => Some(tail_row(n, eta, dispersion)),
        Count::Present => Some(tail_row(1, eta, dispersion)),
    }
}

fn exact_row(y: f64, eta: f64, dispersion: Dispersion) -> Row {
    let mu = eta.exp();
    let Dispersion::Theta(theta) = dispersion else {
        return Row {
            value: y * eta - mu,
            slope: y - mu,
            weight: mu,
            weight_slope: mu,
            ..Row::default()
        };
    };
    let q = theta / (theta + mu);
    let p = mu / (theta + mu);
    let weight = (y + theta) * p * q;
    // log1p(mu/theta) - p, without cancellation for large theta
    let excess = log1p_minus_ratio(mu / theta);
    Row {
        value: y * eta - (y + theta) * (mu / theta).ln_1p(),
        slope: q * (y - mu),
        weight,
        weight_slope: weight * (q - p),
        by_tau: y * p - theta * excess,
        slope_by_tau: p * q * (y - mu),
        weight_by_tau: p * q * (theta - (y + theta) * (q - p)),
        by_tau_tau: theta * (p * p - excess) - y * p * q,
    }
}

/// The contribution of "at least `n`": log P(Y >= n). d P(Y >= n)/d eta = n P(Y = n) for the
/// negative binomial and the Poisson, from the derivative of the incomplete beta (gamma) function.
fn tail_row(n: u32, eta: f64, dispersion: Dispersion) -> Row {
    let at = |tau_shift: f64| tail_terms(n, eta, dispersion.scaled(tau_shift));
    let (value, slope, weight, weight_slope) = at(0.0);
    let mut row = Row {
        value,
        slope,
        weight,
        weight_slope,
        ..Row::default()
    };
    if let Dispersion::Theta(_) = dispersion {
        // few rows are of this kind; central differences are exact to about 1e-8
        let step = 1e-4;
        let (up, down) = (at(step), at(-step));
        row.by_tau = (up.0 - down.0) / (2.0 * step);
        row.slope_by_tau = (up.1 - down.1) / (2.0 * step);
        row.weight_by_tau = (up.2 - down.2) / (2.0 * step);
        // a second difference loses twice as many digits
        let wide = 2e-3;
        row.by_tau_tau = (at(wide).0 - 2.0 * value + at(-wide).0) / (wide * wide);
    }
    row
}

fn tail_terms(n: u32, eta: f64, dispersion: Dispersion) -> (f64, f64, f64, f64) {
    let y = f64::from(n);
    let mu = eta.exp();
    let log_tail = ln_tail(n, mu, dispersion);
    let rate = (y.ln() + dispersion.ln_pmf(n, mu) - log_tail).exp();
    let (pull, own_weight) = match dispersion {
        Dispersion::Poisson => (y - mu, mu),
        Dispersion::Theta(theta) => {
            let q = theta / (theta + mu);
            (q * (y - mu), (y + theta) * q * mu / (theta + mu))
        }
    };
    let rate_slope = rate * (pull - rate);
    let weight_slope = rate_slope * (rate - pull) + rate * (rate_slope + own_weight);
    (log_tail, rate, rate * (rate - pull), weight_slope)
}
