//! How far two seasons overlap: Weitzman's coefficient, the area under the lower of two curves
//! of area one (Weitzman 1970, US Bureau of the Census technical paper 22). 1 for equal curves,
//! 0 for curves that never meet.

pub mod kernel;

use crate::bessel::scaled_i;
use crate::calendar::{DAYS, DayOfYear};
use crate::normal;
use statrs::distribution::Normal;
use statrs::statistics::Distribution;
use std::f64::consts::TAU;

/// Of two daily curves (birds a visit; zero outside the passage), each divided by its sum.
/// None where either has no birds or is not made of finite numbers >= 0.
pub fn of_curves(a: &[f64; DAYS], b: &[f64; DAYS]) -> Option<f64> {
    let total = |curve: &[f64; DAYS]| {
        let sum: f64 = curve.iter().sum();
        (sum > 0.0 && sum.is_finite() && curve.iter().all(|v| *v >= 0.0)).then_some(sum)
    };
    let (total_a, total_b) = (total(a)?, total(b)?);
    let lower = |(a, b): (&f64, &f64)| (a / total_a).min(b / total_b);
    Some(a.iter().zip(b).map(lower).sum())
}

/// First and last days of the stretches of the year on which both chances are at or above
/// `threshold`, in order of their first days; a stretch may cross New Year (its first day is then
/// the later in the year). One stretch over the whole year runs from 1 to 366.
pub fn both_at_or_above(
    a: &[f64; DAYS],
    b: &[f64; DAYS],
    threshold: f64,
) -> Vec<(DayOfYear, DayOfYear)> {
    let both = |i: usize| a[i % DAYS] >= threshold && b[i % DAYS] >= threshold;
    if (0..DAYS).all(both) {
        return day(0).zip(day(DAYS - 1)).into_iter().collect();
    }
    let begins = (0..DAYS).filter(|i| both(*i) && !both(i + DAYS - 1));
    let stretch = |first: usize| {
        let length = (first..first + DAYS).take_while(|i| both(*i)).count();
        day(first).zip(day((first + length - 1) % DAYS))
    };
    begins.filter_map(stretch).collect()
}

fn day(index: usize) -> Option<DayOfYear> {
    DayOfYear::try_from(index as u16 + 1).ok()
}

/// Of two normal curves, in closed form (Inman & Bradley 1989 Commun. Statist. Theory Meth.
/// 18:3851-3874).
pub fn of_normals(a: &Normal, b: &Normal) -> Option<f64> {
    let (mean_a, mean_b) = (a.mean()?, b.mean()?);
    let (sd_a, sd_b) = (a.std_dev()?, b.std_dev()?);
    if sd_a > sd_b {
        return of_normals(b, a);
    }
    let gap = mean_b - mean_a;
    // where the densities meet: q x^2 + 2 gap x - c = 0, x from the mean of the narrower,
    // in units that keep q at 0 for equal widths
    let ratio = (sd_b / sd_a).powi(2);
    let q = ratio - 1.0;
    if q == 0.0 {
        return Some(2.0 * normal::cdf(-gap.abs() / (2.0 * sd_a)));
    }
    let c = gap * gap + 2.0 * sd_b * sd_b * (sd_b / sd_a).ln();
    let root = (gap * gap + q * c).sqrt();
    // the root without cancellation first, the other from the product of the two
    let far = -(gap + root.copysign(gap));
    let (x1, x2) = (far / q, -c / far);
    let (low, high) = (mean_a + x1.min(x2), mean_a + x1.max(x2));
    // the narrower is the lower one outside, the wider inside
    let narrow = |x: f64| normal::cdf((x - mean_a) / sd_a);
    let wide = |x: f64| normal::cdf((x - mean_b) / sd_b);
    let above = normal::cdf((mean_a - high) / sd_a);
    Some(narrow(low) + (wide(high) - wide(low)) + above)
}

/// A von Mises curve: the normal's counterpart on a circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VonMises {
    mean: f64,
    kappa: f64,
    log_scale: f64,
}

impl VonMises {
    /// Mean direction in radians and concentration, finite and >= 0; None otherwise.
    pub fn new(mean: f64, kappa: f64) -> Option<Self> {
        let log_scale = -(TAU * scaled_i(0, kappa)).ln();
        (mean.is_finite() && log_scale.is_finite()).then_some(VonMises {
            mean,
            kappa,
            log_scale,
        })
    }

    /// Density a radian at an angle in radians.
    pub fn density(&self, angle: f64) -> f64 {
        let half = ((angle - self.mean) / 2.0).sin();
        (self.log_scale - 2.0 * self.kappa * half * half).exp()
    }
}

/// Of two von Mises curves, by the rectangle rule on the circle: the corners where they meet
/// leave an error of the order of 1 / nodes^2, some 1e-8 at kappa 100.
pub fn of_von_mises(a: &VonMises, b: &VonMises) -> f64 {
    const NODES: u32 = 1 << 16;
    let step = TAU / f64::from(NODES);
    let lower = |i: u32| {
        let angle = f64::from(i) * step;
        a.density(angle).min(b.density(angle))
    };
    (0..NODES).map(lower).sum::<f64>() * step
}

#[cfg(test)]
mod tests;
