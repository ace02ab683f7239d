//! How far a season is from what seasons usually do.

use super::borrowed::Borrowed;
use super::grid::Moments;
use crate::passage::own_curve::OwnCurve;
use nalgebra::{Matrix2, Vector2};

/// The measure by which seasons are ranked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oddness {
    /// Chance that a usual season looks at least as far off, in timing and numbers together.
    pub chance: f64,
    /// The same of the timing alone.
    pub timing_chance: f64,
    /// The same of the numbers alone.
    pub numbers_chance: f64,
}

/// Usual seasons have shifts N(0, spread^2) and log multipliers N(0, sd^2), spreads found from
/// the seasons behind the curve; what the counts make of them scatters about that as the counts
/// do. The squared distance is then chi-squared with two degrees of freedom, whose tail is
/// exp(-x / 2).
pub(super) fn oddness(at: &Moments, borrowed: &Borrowed, own: &OwnCurve) -> Oddness {
    let year = &own.any_year;
    let known = Matrix2::new(
        at.shift_variance + year.mean_shift_variance,
        at.covariance,
        at.covariance,
        at.level_variance,
    ) + borrowed.covariance();
    let usual = Matrix2::new(
        year.spread_days.powi(2),
        0.0,
        0.0,
        own.curve.season_sd.powi(2),
    );
    let both = known + usual;
    let off = Vector2::new(at.shift, at.level);
    let square = both
        .try_inverse()
        .map_or(0.0, |inverse| off.dot(&(inverse * off)));
    let alone = |i: usize| 2.0 * crate::normal::cdf(-off[i].abs() / both[(i, i)].sqrt());
    Oddness {
        chance: (-0.5 * square.max(0.0)).exp(),
        timing_chance: alone(0),
        numbers_chance: alone(1),
    }
}
