//! How strong one season was, given the curve and when the season ran.

use super::curve::{PassageCurve, Sighting};
use crate::year_curve::likelihood::step_row;

/// Best level of the season and its penalised log likelihood, by Newton's method from a nearby
/// level.
pub(crate) fn best_level(
    curve: &PassageCurve,
    sightings: &[Sighting],
    means: &[f64],
    start: f64,
) -> (f64, f64) {
    let precision = curve.season_sd.powi(-2);
    let sums = |level: f64| {
        let prior = (
            -0.5 * precision * level * level,
            -precision * level,
            precision,
        );
        let rows = sightings.iter().zip(means);
        rows.filter_map(|(s, mean)| step_row(s.count, mean + level, curve.dispersion))
            .fold(prior, |sum, row| {
                (sum.0 + row.0, sum.1 + row.1, sum.2 + row.2)
            })
    };
    let mut level = start;
    for _ in 0..30 {
        let (_, slope, weight) = sums(level);
        let step = (slope / weight).clamp(-2.0, 2.0);
        level += step;
        if step.abs() < 1e-6 {
            break;
        }
    }
    (level, sums(level).0)
}
