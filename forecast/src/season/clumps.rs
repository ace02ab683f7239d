//! Counts of neighbouring days scatter together: a week of head winds holds all of them up. Taken
//! for independent witnesses they would make a season's timing look better known than it is.

use crate::passage::best_level::best_level;
use crate::passage::curve::Sighting;
use crate::passage::own_curve::OwnCurve;
use crate::passage::timing;
use crate::series::Count;

/// Days that make a clump.
const CLUMP_DAYS: usize = 7;

/// Numbers fitted to each season: its timing and its level.
const FITTED: f64 = 2.0;
/// Seasons with fewer weeks that tell anything have nothing left to tell of their scatter.
const LEAST_WEEKS: f64 = 3.0;

/// Variance of the sums over a week of the scores of single counts, as a multiple of what it is
/// where counts are independent; 1 at the least. It divides the log likelihood (quasi-likelihood:
/// McCullagh & Nelder 1989, Generalized Linear Models, 2nd ed., section 9.2, with clusters for
/// single counts). From the seasons behind the curve, each at its own timing and level. Weeks are
/// counted by Kish's effective number, since those at the ends of a passage tell little.
pub(super) fn clumping(own: &OwnCurve) -> f64 {
    let lined_up = timing::drawn_in(&own.shifts, own.any_year.spread_days);
    let (mut squares, mut expected, mut left) = (0.0, 0.0, 0.0);
    for (season, shift) in lined_up.iter().enumerate() {
        let seen = own.sightings.iter().filter(|s| s.season == season);
        let seen: Vec<Sighting> = seen.copied().collect();
        let means: Vec<f64> = seen
            .iter()
            .map(|s| own.curve.log_mean(s.offset as f64 - shift) + s.log_effort)
            .collect();
        let (level, _) = best_level(&own.curve, &seen, &means, 0.0);
        let mut weeks: Vec<(usize, f64, f64)> = Vec::new();
        for (s, mean) in seen.iter().zip(&means) {
            let Some((score, information)) = score(s.count, mean + level, own) else {
                continue;
            };
            let week = s.offset / CLUMP_DAYS;
            match weeks.last_mut() {
                Some(last) if last.0 == week => {
                    *last = (week, last.1 + score, last.2 + information)
                }
                _ => weeks.push((week, score, information)),
            }
        }
        let information: f64 = weeks.iter().map(|w| w.2).sum();
        let telling = information.powi(2) / weeks.iter().map(|w| w.2 * w.2).sum::<f64>();
        if telling.is_nan() || telling < LEAST_WEEKS {
            continue;
        }
        // what the season's own timing and level have taken up is given back
        let given_back = telling / (telling - FITTED);
        squares += given_back * weeks.iter().map(|w| w.1 * w.1).sum::<f64>();
        expected += information;
        left += telling - FITTED;
    }
    // a sum of so many squares has this standard error about 1; what lies within it is no clumping
    let noise = (2.0_f64 / left).sqrt();
    let found = squares / expected;
    if found > 1.0 + noise { found } else { 1.0 }
}

/// Slope of an exact count's log likelihood and its expected square; None of other counts.
fn score(count: Count, eta: f64, own: &OwnCurve) -> Option<(f64, f64)> {
    let (Count::Exactly(n) | Count::About(n)) = count else {
        return None;
    };
    let mean = eta.exp();
    let kept = match own.curve.dispersion.theta() {
        Some(theta) => theta / (theta + mean),
        None => 1.0,
    };
    Some((kept * (f64::from(n) - mean), kept * mean))
}
