//! Overlap of two sets of dates by kernel densities on the circle (Ridout & Linkie 2009 JABES
//! 14:322-337).

use crate::bessel::{concentration, scaled_i};
use crate::calendar::circular_mean;
use std::f64::consts::{PI, TAU};

/// A kernel density of positions on a circle, with von Mises kernels.
#[derive(Debug, Clone, PartialEq)]
pub struct CircularDensity {
    angles: Vec<f64>,
    kappa: f64,
    nu: f64,
    scale: f64,
}

/// Positions that allow no density.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum KernelError {
    /// No spread to take a bandwidth from.
    #[error("{0} dates, all on one day, have no spread to smooth by")]
    NoSpread(usize),
    /// Not a position, a period or a concentration.
    #[error("{0} is no usable position, period or concentration")]
    NotUsable(f64),
}

impl CircularDensity {
    /// From positions on a circle of the given period, smoothed by kernels of concentration `nu`
    /// or, where left out, by Taylor's rule of thumb (2008 CSDA 52:3493-3500),
    /// (3 n k^2 I_2(2k) / (4 sqrt(pi) I_0(k)^2))^(2/5), with k the von Mises concentration by
    /// maximum likelihood.
    pub fn new(positions: &[f64], period: f64, nu: Option<f64>) -> Result<Self, KernelError> {
        let mut numbers = positions.iter().chain(nu.iter());
        if let Some(bad) = numbers.find(|p| !p.is_finite()) {
            return Err(KernelError::NotUsable(*bad));
        }
        if !(period > 0.0 && period.is_finite()) {
            return Err(KernelError::NotUsable(period));
        }
        let centre =
            circular_mean(positions, period).ok_or(KernelError::NoSpread(positions.len()))?;
        let kappa = concentration(centre.resultant_length.min(1.0));
        let nu = nu.unwrap_or_else(|| rule_of_thumb(positions.len() as f64, kappa));
        if nu < 0.0 {
            return Err(KernelError::NotUsable(nu));
        }
        // beyond this dates are the same but for rounding
        if !nu.is_finite() || nu > 1e8 {
            return Err(KernelError::NoSpread(positions.len()));
        }
        Ok(CircularDensity {
            angles: positions.iter().map(|p| p * TAU / period).collect(),
            kappa,
            nu,
            scale: 1.0 / (TAU * scaled_i(0, nu) * positions.len() as f64),
        })
    }

    /// Concentration of the positions.
    pub fn kappa(&self) -> f64 {
        self.kappa
    }

    /// Concentration of the kernels.
    pub fn nu(&self) -> f64 {
        self.nu
    }

    /// Density a radian at an angle in radians.
    pub fn at(&self, angle: f64) -> f64 {
        let kernel = |x: &f64| (-2.0 * self.nu * ((angle - x) / 2.0).sin().powi(2)).exp();
        self.scale * self.angles.iter().map(kernel).sum::<f64>()
    }

    /// Mean of min(1, other / own) over the own positions.
    fn mean_ratio(&self, other: &CircularDensity) -> f64 {
        let ratio = |x: &f64| (other.at(*x) / self.at(*x)).min(1.0);
        self.angles.iter().map(ratio).sum::<f64>() / self.angles.len() as f64
    }
}

fn rule_of_thumb(n: f64, kappa: f64) -> f64 {
    let bessel = scaled_i(2, 2.0 * kappa) / scaled_i(0, kappa).powi(2);
    (3.0 * n * kappa * kappa * bessel / (4.0 * PI.sqrt())).powf(0.4)
}

/// Overlap as the area under the lower density, on `nodes` even steps (Dhat1).
pub fn dhat1(a: &CircularDensity, b: &CircularDensity, nodes: u32) -> f64 {
    let step = TAU / f64::from(nodes);
    let lower = |i: u32| {
        let angle = f64::from(i) * step;
        a.at(angle).min(b.at(angle))
    };
    (0..nodes).map(lower).sum::<f64>() * step
}

/// Overlap as the mean ratio of the densities at the dates themselves (Dhat4); the better choice
/// with 50 dates or more in the smaller set.
pub fn dhat4(a: &CircularDensity, b: &CircularDensity) -> f64 {
    0.5 * (a.mean_ratio(b) + b.mean_ratio(a))
}
