//! What a season's standing says of the nights to come: mixtures of negative binomials.

use super::curve::PassageCurve;
use super::season::Standing;
use crate::negative_binomial::Dispersion;

/// Nodes on a standard normal with weights summing to 1: the trapezium rule, which integrates
/// smooth functions against a normal to about 1e-4 with this step.
fn nodes() -> [(f64, f64); 9] {
    let raw: [(f64, f64); 9] = std::array::from_fn(|i| {
        let z = (i as f64 - 4.0) * 0.75;
        (z, (-0.5 * z * z).exp())
    });
    let total: f64 = raw.iter().map(|(_, w)| w).sum();
    raw.map(|(z, w)| (z, w / total))
}

/// One equally believed way for the season to go: a shift in days and a log multiplier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scenario {
    /// Days late.
    pub shift: f64,
    /// Log multiplier.
    pub level: f64,
    /// Probability.
    pub weight: f64,
}

/// The standing as 81 scenarios. `lift` is subtracted from every level: factors that are
/// log-normal about the curve inflate its mean, which the curve already has.
pub fn scenarios(s: &Standing, lift: f64) -> Vec<Scenario> {
    let shift_sd = s.shift_variance.max(1e-12).sqrt();
    let slope = s.covariance / shift_sd;
    let rest = (s.level_variance - slope * slope).max(0.0).sqrt();
    let both = nodes()
        .into_iter()
        .flat_map(|a| nodes().into_iter().map(move |b| (a, b)));
    both.map(|((z, w), (e, v))| Scenario {
        shift: s.shift + shift_sd * z,
        level: s.level + slope * z + rest * e - lift,
        weight: w * v,
    })
    .collect()
}

/// Largest count that is spelled out.
pub const LARGEST: usize = 140;
const FINEST: f64 = 0.1;
const LOWEST: f64 = -12.0;
const BINS: usize = 201;

/// Probabilities of 0..=140 at a grid of means, for one dispersion.
#[derive(Debug, Clone)]
pub struct Table {
    rows: Vec<Vec<f64>>,
}

impl Table {
    /// Tabulates the dispersion.
    pub fn new(dispersion: Dispersion) -> Self {
        let row = |b: usize| {
            let mu = (LOWEST + FINEST * b as f64).exp();
            pmf(dispersion, mu)
        };
        Table {
            rows: (0..BINS).map(row).collect(),
        }
    }

    /// Probabilities of 0..=140 of a mixture over means, given as (log mean, weight).
    pub fn mix(&self, means: impl Iterator<Item = (f64, f64)>) -> Vec<f64> {
        let mut weights = vec![0.0; BINS];
        for (log_mean, weight) in means {
            let at = ((log_mean - LOWEST) / FINEST).clamp(0.0, (BINS - 1) as f64 - 1e-9);
            let bin = at.floor() as usize;
            let part = at - bin as f64;
            weights[bin] += weight * (1.0 - part);
            weights[bin + 1] += weight * part;
        }
        let mut mixed = vec![0.0; LARGEST + 1];
        for (row, weight) in self.rows.iter().zip(&weights).filter(|(_, w)| **w > 1e-12) {
            mixed
                .iter_mut()
                .zip(row)
                .for_each(|(m, p)| *m += weight * p);
        }
        mixed
    }
}

/// Probabilities of 0..=140 at one mean, by recursion on the count.
pub fn pmf(dispersion: Dispersion, mu: f64) -> Vec<f64> {
    let mut values = Vec::with_capacity(LARGEST + 1);
    let mut log = dispersion.zero(mu).ln();
    if let Dispersion::Theta(theta) = dispersion {
        log = -theta * (mu / theta).ln_1p();
    }
    values.push(log.exp());
    for y in 1..=LARGEST {
        let before = (y - 1) as f64;
        log += match dispersion {
            Dispersion::Poisson => (mu / y as f64).ln(),
            Dispersion::Theta(theta) => ((before + theta) * mu / ((theta + mu) * y as f64)).ln(),
        };
        values.push(log.exp());
    }
    values
}

/// Log mean of each scenario on a night of the stretch.
pub fn log_means<'a>(
    curve: &'a PassageCurve,
    scenarios: &'a [Scenario],
    offset: f64,
    log_effort: f64,
) -> impl Iterator<Item = (f64, f64)> + 'a {
    scenarios.iter().map(move |s| {
        (
            curve.log_mean(offset - s.shift) + s.level + log_effort,
            s.weight,
        )
    })
}

/// Probability that none is found on any of the nights, given as (offset, log effort).
pub fn none_found(curve: &PassageCurve, scenarios: &[Scenario], nights: &[(f64, f64)]) -> f64 {
    scenarios
        .iter()
        .map(|s| {
            let zero = |(offset, effort): &(f64, f64)| {
                curve
                    .dispersion
                    .zero((curve.log_mean(offset - s.shift) + s.level + effort).exp())
            };
            s.weight * nights.iter().map(zero).product::<f64>()
        })
        .sum()
}
