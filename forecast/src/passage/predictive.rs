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
pub(crate) const NODES_5: [(f64, f64); 5] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_691),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_64),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_266, 0.222_075_922_005_612_64),
    (2.856_970_013_872_806, 0.011_257_411_327_720_691),
];

/// Largest count that is spelled out.
pub const LARGEST: usize = 140;
const STEP: f64 = 0.1;
const LOWEST: f64 = -12.0;
const BINS: usize = 201;

/// Probabilities of 0..=140 at a grid of log means, for one dispersion.
#[derive(Debug, Clone)]
pub struct Table {
    dispersion: Dispersion,
    rows: Vec<Vec<f64>>,
}

impl Table {
    /// Tabulates the dispersion.
    pub fn new(dispersion: Dispersion) -> Self {
        let row = |b: usize| {
            let mu = (LOWEST + STEP * b as f64).exp();
            pmf(dispersion, mu)
        };
        Table {
            dispersion,
            rows: (0..BINS).map(row).collect(),
        }
    }

    /// Probabilities of 0..=140 of a mixture over means, given as (log mean, weight).
    pub fn mix(&self, means: impl Iterator<Item = (f64, f64)>) -> Vec<f64> {
        let mut mixed = vec![0.0; LARGEST + 1];
        let mut add = |row: &[f64], weight: f64| {
            let both = mixed.iter_mut().zip(row);
            both.for_each(|(m, p)| *m += weight * p);
        };
        let mut weights = [0.0; BINS];
        for (log_mean, weight) in means {
            match self.place(log_mean) {
                Some((bin, part)) => {
                    weights[bin] += weight * (1.0 - part);
                    weights[bin + 1] += weight * part;
                }
                None => add(&pmf(self.dispersion, log_mean.exp()), weight),
            }
        }
        let used = self.rows.iter().zip(&weights).filter(|(_, w)| **w > 0.0);
        used.for_each(|(row, weight)| add(row, *weight));
        mixed
    }

    /// Row at or below a log mean, and how far on to the next it lies. None outside the table,
    /// and where counts scatter less than four steps about their mean: two rows would then make
    /// two humps.
    fn place(&self, log_mean: f64) -> Option<(usize, f64)> {
        let at = (log_mean - LOWEST) / STEP;
        let bin = at.floor();
        let scatter = (-log_mean).exp() + self.dispersion.theta().map_or(0.0, |t| 1.0 / t);
        let inside = bin >= 0.0 && bin < (BINS - 1) as f64 && scatter >= (4.0 * STEP).powi(2);
        inside.then_some((bin as usize, at - bin))
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

#[cfg(test)]
mod tests {
    use super::*;

    /// The mixture, mean by mean.
    fn slow(dispersion: Dispersion, means: &[(f64, f64)]) -> Vec<f64> {
        let mut mixed = vec![0.0; LARGEST + 1];
        for (log_mean, weight) in means {
            let row = pmf(dispersion, log_mean.exp());
            mixed
                .iter_mut()
                .zip(row)
                .for_each(|(m, p)| *m += weight * p);
        }
        mixed
    }

    fn cdf(probabilities: &[f64]) -> Vec<f64> {
        let sum = |sum: &mut f64, p: &f64| {
            *sum += p;
            Some(*sum)
        };
        probabilities.iter().scan(0.0, sum).collect()
    }

    fn means(level: f64, sd: f64) -> Vec<(f64, f64)> {
        let standing = Standing {
            level,
            shift: 0.0,
            level_variance: sd * sd,
            shift_variance: 9.0,
            covariance: 0.0,
        };
        let means = scenarios(&standing, 0.0);
        means
            .iter()
            .map(|s| (s.level - 0.002 * s.shift * s.shift, s.weight))
            .collect()
    }

    #[test]
    fn mixtures_are_those_of_their_means() {
        let sizes = [10.0, 3.0, 1.0, 0.3].map(Dispersion::Theta);
        for dispersion in [Dispersion::Poisson].into_iter().chain(sizes) {
            let table = Table::new(dispersion);
            for sd in [0.1, 0.3, 0.6, 1.5] {
                for level in [-30.0, -11.9, -3.0, 0.0, 2.0, 4.0, 5.0, 7.8, 9.0, 12.0] {
                    let means = means(level, sd);
                    let fast = cdf(&table.mix(means.iter().copied()));
                    let slow = cdf(&slow(dispersion, &means));
                    let apart = fast.iter().zip(&slow).map(|(a, b)| (a - b).abs());
                    // interpolating a normal of four steps' scatter leaves about 1/500
                    let worst = apart.fold(0.0, f64::max);
                    assert!(worst < 2e-3, "{dispersion:?} {level} {sd}: {worst}");
                }
            }
        }
    }

    #[test]
    fn a_large_mean_is_no_smaller_in_the_distribution() {
        // at the end of the table and beyond, where most counts exceed 140
        let size = Dispersion::Theta(0.3);
        let table = Table::new(size);
        for (log_mean, least) in [(8.0, 0.29), (10.0, 0.16), (12.0, 0.09)] {
            let told: f64 = table.mix([(log_mean, 1.0)].into_iter()).iter().sum();
            let exact = size.cdf(LARGEST as u32, f64::exp(log_mean));
            assert!((told - exact).abs() < 1e-9, "{log_mean}: {told}, {exact}");
            assert!(told > least && told < least + 0.05, "{log_mean}: {told}");
        }
        // and all below it: the mean is the one that went in, but for the step's 1/800
        for log_mean in [-20.0, -2.03, 0.51, 2.04] {
            let row = Table::new(Dispersion::Theta(2.0)).mix([(log_mean, 1.0)].into_iter());
            let mean: f64 = row.iter().zip(0..).map(|(p, y)| p * f64::from(y)).sum();
            let ratio = mean / f64::exp(log_mean);
            assert!((ratio - 1.0).abs() < 1.0 / 700.0, "{log_mean}: {ratio}");
        }
    }
}
