//! When each past season ran: early or late against its passage's curve.

use super::best_level::best_level;
use super::curve::{PassageCurve, Sighting};

/// Shifts are looked for within this many days ...
const REACH_DAYS: i32 = 20;
/// ... under a belief that hardly pulls: standard deviation in days.
pub const LOOSE_SD_DAYS: f64 = 8.0;
/// Log means of the sightings at level 0, in a season that runs `shift` days late.
fn means(curve: &PassageCurve, sightings: &[Sighting], shift: f64) -> Vec<f64> {
    let mean = |s: &Sighting| curve.log_mean(s.offset as f64 - shift) + s.log_effort;
    sightings.iter().map(mean).collect()
}

/// Spread of shifts from year to year that is believed of any passage, days: that of the
/// forecast's own constants (chosen on 2002-2005 of the night-migrant counts).
pub const USUAL_SD_DAYS: f64 = 2.7;
/// Seasons' worth of that belief.
const USUAL_WEIGHT: f64 = 4.0;

/// How late a season ran.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// Days late; early is negative.
    pub days: f64,
    /// Standard deviation, days.
    pub sd_days: f64,
}

/// The shift of every season of a passage, one each in the order of the season's index, under a
/// loose belief; a season that tells nothing has that belief's standard deviation.
pub fn shifts(curve: &PassageCurve, seasons: usize, sightings: &[Sighting]) -> Vec<Shift> {
    (0..seasons)
        .map(|season| {
            let own: Vec<Sighting> = sightings
                .iter()
                .filter(|s| s.season == season)
                .copied()
                .collect();
            one(curve, &own)
        })
        .collect()
}

/// Posterior of one season's shift on a grid of whole days, its level profiled out.
fn one(curve: &PassageCurve, sightings: &[Sighting]) -> Shift {
    let mut level = 0.0;
    let grid: Vec<(f64, f64)> = (-REACH_DAYS..=REACH_DAYS)
        .map(|days| {
            let shift = f64::from(days);
            let (best, value) =
                best_level(curve, sightings, &means(curve, sightings, shift), level);
            level = best;
            (shift, value - 0.5 * (shift / LOOSE_SD_DAYS).powi(2))
        })
        .collect();
    let top = grid
        .iter()
        .map(|(_, v)| *v)
        .fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = grid.iter().map(|(_, v)| (v - top).exp()).collect();
    let total: f64 = weights.iter().sum();
    let moment = |power: i32| -> f64 {
        grid.iter()
            .zip(&weights)
            .map(|((d, _), w)| d.powi(power) * w / total)
            .sum()
    };
    let days = moment(1);
    // a grid of whole days cannot tell less than a sixth of a day squared
    Shift {
        days,
        sd_days: (moment(2) - days * days).max(1.0 / 12.0).sqrt(),
    }
}

/// Spread of shifts from year to year, days: by moments from seasons that tell something, drawn
/// towards what is usual as if by four seasons more.
pub fn spread_days(shifts: &[Shift]) -> f64 {
    let usual = USUAL_SD_DAYS * USUAL_SD_DAYS;
    let (mut sum, mut total) = (USUAL_WEIGHT * usual, USUAL_WEIGHT);
    for shift in shifts {
        // the loose belief is taken out of the estimate again
        let precision = shift.sd_days.powi(-2);
        let told = precision - LOOSE_SD_DAYS.powi(-2);
        if told <= 0.02 {
            continue;
        }
        let (days, variance) = (shift.days * precision / told, 1.0 / told);
        let weight = (usual / (usual + variance)).powi(2);
        sum += weight * (days * days - variance);
        total += weight;
    }
    (sum / total).max(0.25 * usual).sqrt()
}

/// Variance, in squared days, of the weighted mean of the seasons' true shifts: each season
/// counts by what its birds tell of it, as it does in the curve.
pub fn mean_shift_variance(shifts: &[Shift], spread_days: f64) -> f64 {
    let spread = spread_days * spread_days;
    let weights = || {
        shifts
            .iter()
            .map(|s| 1.0 / (spread + s.sd_days * s.sd_days))
    };
    let total: f64 = weights().sum();
    spread * weights().map(|w| w * w).sum::<f64>() / (total * total).max(1e-12)
}

/// Best guess of each shift given the spread from year to year.
pub fn drawn_in(shifts: &[Shift], spread_days: f64) -> Vec<f64> {
    let pull = spread_days.powi(-2) - LOOSE_SD_DAYS.powi(-2);
    shifts
        .iter()
        .map(|s| {
            let precision = s.sd_days.powi(-2);
            s.days * precision / (precision + pull).max(precision * 0.1)
        })
        .collect()
}
