//! What a season's standing says of the nights to come: mixtures of negative binomials.

use super::curve::PassageCurve;
use super::season::Standing;
use crate::negative_binomial::Dispersion;
use nalgebra::{Cholesky, Matrix4, Vector4};

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

/// Two species' seasons as scenarios of both at once, from the joint normal of their (level,
/// shift) pairs: 5 nodes on each of four dimensions, which integrates chances of being found to
/// better than 0.002.
pub fn joint_scenarios(
    mean: &Vector4<f64>,
    covariance: &Matrix4<f64>,
    lift: f64,
) -> Vec<(Scenario, Scenario)> {
    // a variance that rounding left at nothing is no reason to fail
    let jitter = Matrix4::identity() * 1e-9;
    let Some(factor) = Cholesky::new(covariance + jitter) else {
        return Vec::new();
    };
    let root = factor.l();
    let mut all = Vec::with_capacity(NODES_5.len().pow(4));
    for a in NODES_5 {
        for b in NODES_5 {
            for c in NODES_5 {
                for d in NODES_5 {
                    let at = mean + root * Vector4::new(a.0, b.0, c.0, d.0);
                    let weight = a.1 * b.1 * c.1 * d.1;
                    let one = |i: usize| Scenario {
                        level: at[i] - lift,
                        shift: at[i + 1],
                        weight,
                    };
                    all.push((one(0), one(2)));
                }
            }
        }
    }
    all
}

/// Gauss-Hermite nodes and weights for a standard normal, five points (Abramowitz & Stegun 1964,
/// table 25.10, rescaled).
const NODES_5: [(f64, f64); 5] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_691),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_64),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_266, 0.222_075_922_005_612_64),
    (2.856_970_013_872_806, 0.011_257_411_327_720_691),
];

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
        .map(|s| s.weight * none_in(curve, s, nights))
        .sum()
}

/// Probability that none is found on any of the nights in one scenario.
fn none_in(curve: &PassageCurve, s: &Scenario, nights: &[(f64, f64)]) -> f64 {
    let zero = |(offset, effort): &(f64, f64)| {
        curve
            .dispersion
            .zero((curve.log_mean(offset - s.shift) + s.level + effort).exp())
    };
    nights.iter().map(zero).product()
}

/// Probability that both species are found on at least one of the nights each.
pub fn both_found(
    curves: (&PassageCurve, &PassageCurve),
    scenarios: &[(Scenario, Scenario)],
    nights: &[(f64, f64)],
) -> f64 {
    let both = |(a, b): &(Scenario, Scenario)| {
        a.weight * (1.0 - none_in(curves.0, a, nights)) * (1.0 - none_in(curves.1, b, nights))
    };
    scenarios.iter().map(both).sum()
}
