//! The part of a passage that has gone through by a date.

use super::Estimate;
use super::borrowed::Borrowed;
use super::grid::Grid;
use crate::passage::curve::PassageCurve;
use nalgebra::DVector;

/// Nearer to 0 or 1 than this a part is at its end, where the curve's shape no longer matters.
const LEAST: f64 = 1e-4;

/// Part of the curve's birds up to a position, days from the middle of the stretch's first day.
/// Days before the stretch and behind it, as far as a season may be shifted, don't count: the
/// passage is what the stretch holds.
pub(super) fn through(curve: &PassageCurve, length: usize, position: f64) -> f64 {
    let mut sums = (0.0, 0.0);
    for day in 0..length {
        let rate = curve.log_mean(day as f64).exp();
        sums = (sums.0 + rate * part(day, position), sums.1 + rate);
    }
    if sums.1 > 0.0 { sums.0 / sums.1 } else { 0.0 }
}

/// Part of a day that lies before a position; a day spreads evenly about its middle.
fn part(day: usize, position: f64) -> f64 {
    (position + 0.5 - day as f64).clamp(0.0, 1.0)
}

/// The part of this season's birds through by a position: the long-term part at the position less
/// the shift. It only falls as the shift grows, so that its interval is that of the shift, with
/// what is not known of the curve's shape counted as days.
pub(super) fn estimate(
    curve: &PassageCurve,
    length: usize,
    position: f64,
    grid: &Grid,
    borrowed: &Borrowed,
) -> Estimate {
    let middle = grid.moments().shift;
    let shift = grid.shifts(unknown(curve, length, position - middle, borrowed));
    let shift = shift.estimate();
    let share = |shift: f64| through(curve, length, position - shift);
    Estimate {
        middle: share(shift.middle),
        low: share(shift.high),
        high: share(shift.low),
    }
}

/// Variance, in squared days, that comes from the curve: by its shape, and by the shift that goes
/// with it. A curve that lies a day too late makes every season a day too early, and the part
/// through the same.
fn unknown(curve: &PassageCurve, length: usize, position: f64, borrowed: &Borrowed) -> f64 {
    let share = through(curve, length, position);
    let rates: Vec<f64> = (0..length)
        .map(|d| curve.log_mean(d as f64).exp())
        .collect();
    let total: f64 = rates.iter().sum();
    let density = curve.log_mean(position).exp() / total;
    let at_an_end = !(LEAST..=1.0 - LEAST).contains(&share);
    if at_an_end || density.is_nan() || density < LEAST {
        return borrowed.shift_variance();
    }
    let mut by_itself: DVector<f64> = DVector::zeros(curve.covariance().nrows());
    for (day, rate) in rates.iter().enumerate() {
        let (first, pieces) = curve.coefficients_at(day as f64);
        let pull = rate * (part(day, position) - share) / total;
        for (i, piece) in pieces.iter().enumerate() {
            by_itself[first + i] += pull * piece;
        }
    }
    borrowed.variance_of(&by_itself, -density) / (density * density)
}
