//! Counts of neighbouring days scatter together: a week of head winds holds all of them up. Taken
//! for independent witnesses they would make a season's timing and numbers look better known than
//! they are.
//!
//! log mean of a count = f(d - shift) + level + log effort + w(week), with w a stationary first-order
//! autoregression from week to week. How far w goes and how long it lasts is told by the seasons
//! behind the curve; what it may have been in the season asked about widens the intervals as the
//! unknown of the curve does (`borrowed`).

use crate::passage::best_level::best_level;
use crate::passage::curve::Sighting;
use crate::passage::own_curve::OwnCurve;
use crate::passage::timing;
use crate::series::Count;
use nalgebra::{DMatrix, DVector, Vector2};

/// Days that go up and down together.
const WEEK_DAYS: usize = 7;
/// Belief that weeks do not scatter together at all: even. A choice.
const NONE: f64 = 0.5;
/// Else their standard deviation, on the log scale, is half-normal with this scale (a factor of
/// 1.6), and the correlation of a week with the next is any of [`NEXT`], each as likely. A choice.
const USUAL_SD: f64 = 0.5;
/// Standard deviations tried.
const SDS: [f64; 14] = [
    0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.85, 1.0, 1.25, 1.5,
];
/// Correlations tried.
const NEXT: [f64; 6] = [0.0, 0.3, 0.5, 0.7, 0.8, 0.9];
/// Weeks of a season that tell less than this, as the information of its counts on the log scale,
/// tell nothing of scatter.
const LEAST_INFORMATION: f64 = 1e-3;
/// Timing and level are taken out of a season's weeks; with no week more there is nothing left.
const FITTED: usize = 2;

/// How weeks scatter together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Weeks {
    /// Covariance of a week's factor, log scale, with that so many weeks on.
    by_lag: Vec<f64>,
}

impl Weeks {
    /// Found in the seasons behind a curve of `length` days: the covariance that is to be expected
    /// given their counts.
    pub(super) fn behind(own: &OwnCurve, length: usize) -> Self {
        let seasons = told(own);
        let prior = |sd: f64| width(sd) * (-0.5 * (sd / USUAL_SD).powi(2)).exp();
        let all: f64 = NEXT.len() as f64 * SDS.iter().map(|sd| prior(*sd)).sum::<f64>();
        let mut tried = vec![(0.0, 0.0, NONE.ln() + likelihood(&seasons, |_| 0.0))];
        for (sd, next) in SDS.iter().flat_map(|sd| NEXT.map(|next| (*sd, next))) {
            let belief = (1.0 - NONE) * prior(sd) / all;
            let told = likelihood(&seasons, |lag| at_lag(sd, next, lag));
            tried.push((sd, next, belief.ln() + told));
        }
        let top = tried.iter().map(|t| t.2).fold(f64::NEG_INFINITY, f64::max);
        let weight = |log: f64| (log - top).exp();
        let total: f64 = tried.iter().map(|t| weight(t.2)).sum();
        let expected = |lag: usize| -> f64 {
            let parts = tried.iter();
            parts
                .map(|(sd, next, log)| weight(*log) * at_lag(*sd, *next, lag))
                .sum::<f64>()
                / total
        };
        Weeks {
            by_lag: (0..=length / WEEK_DAYS).map(expected).collect(),
        }
    }

    /// The week of a day of the stretch.
    pub(super) fn of_day(&self, offset: usize) -> usize {
        (offset / WEEK_DAYS).min(self.by_lag.len() - 1)
    }

    /// Covariance of the factors of all weeks.
    pub(super) fn covariance(&self) -> DMatrix<f64> {
        let n = self.by_lag.len();
        DMatrix::from_fn(n, n, |a, b| self.by_lag[a.abs_diff(b)])
    }

    /// Standard deviation of a week's factor, log scale.
    pub(super) fn sd(&self) -> f64 {
        self.by_lag[0].sqrt()
    }
}

/// Covariance of weeks so many apart.
fn at_lag(sd: f64, next: f64, lag: usize) -> f64 {
    sd * sd * next.powi(lag as i32)
}

/// Of the range of standard deviations, what one that is tried stands for.
fn width(sd: f64) -> f64 {
    let at = SDS.iter().position(|s| *s == sd).unwrap_or(0);
    let below = if at == 0 { 0.0 } else { SDS[at - 1] };
    let above = SDS.get(at + 1).copied().unwrap_or(SDS[at]);
    0.5 * (above - below)
}

/// What one season tells of scatter, each week divided by the standard deviation that its score
/// has where counts are independent.
struct Told {
    weeks: Vec<usize>,
    /// Root of the information of a week's counts.
    root: DVector<f64>,
    /// Slope of its log likelihood.
    score: DVector<f64>,
    /// By how much the season's shift and level move it.
    fitted: DMatrix<f64>,
}

fn told(own: &OwnCurve) -> Vec<Told> {
    let lined_up = timing::drawn_in(&own.shifts, own.any_year.spread_days);
    let season = |(season, shift): (usize, &f64)| {
        let seen = own.sightings.iter().filter(|s| s.season == season);
        of_season(own, &seen.copied().collect::<Vec<_>>(), *shift)
    };
    lined_up.iter().enumerate().filter_map(season).collect()
}

fn of_season(own: &OwnCurve, seen: &[Sighting], shift: f64) -> Option<Told> {
    let at = |s: &Sighting| own.curve.log_mean_and_slope(s.offset as f64 - shift);
    let means: Vec<f64> = seen.iter().map(|s| at(s).0 + s.log_effort).collect();
    let (level, _) = best_level(&own.curve, seen, &means, 0.0);
    // week, score, information, and the latter by shift and level
    let mut weeks: Vec<(usize, f64, f64, Vector2<f64>)> = Vec::new();
    for (s, mean) in seen.iter().zip(&means) {
        let Some((score, information)) = score(s.count, mean + level, own) else {
            continue;
        };
        let by = information * Vector2::new(-at(s).1, 1.0);
        let week = s.offset / WEEK_DAYS;
        match weeks.last_mut() {
            Some(last) if last.0 == week => {
                *last = (week, last.1 + score, last.2 + information, last.3 + by)
            }
            _ => weeks.push((week, score, information, by)),
        }
    }
    weeks.retain(|w| w.2 > LEAST_INFORMATION);
    if weeks.len() <= FITTED {
        return None;
    }
    let root = DVector::from_iterator(weeks.len(), weeks.iter().map(|w| w.2.sqrt()));
    Some(Told {
        score: DVector::from_fn(weeks.len(), |k, _| weeks[k].1 / root[k]),
        fitted: DMatrix::from_fn(weeks.len(), FITTED, |k, j| weeks[k].3[j] / root[k]),
        weeks: weeks.iter().map(|w| w.0).collect(),
        root,
    })
}

/// Log likelihood of the seasons' scores where weeks so many apart have the covariance given,
/// normal to the second order, whatever the seasons' shifts and levels were (restricted
/// likelihood: Patterson & Thompson 1971, Biometrika 58:545-554).
fn likelihood(seasons: &[Told], covariance: impl Fn(usize) -> f64) -> f64 {
    let of = |s: &Told| -> Option<f64> {
        let n = s.weeks.len();
        let scatter = DMatrix::from_fn(n, n, |a, b| {
            let alone = if a == b { 1.0 } else { 0.0 };
            alone + s.root[a] * covariance(s.weeks[a].abs_diff(s.weeks[b])) * s.root[b]
        });
        let scatter = scatter.cholesky()?;
        let freed = scatter.solve(&s.fitted);
        let inner = (s.fitted.transpose() * &freed).cholesky()?;
        let pulled = freed.transpose() * &s.score;
        let left = scatter.solve(&s.score).dot(&s.score) - inner.solve(&pulled).dot(&pulled);
        Some(-0.5 * (scatter.ln_determinant() + inner.ln_determinant() + left))
    };
    // a season whose weeks cannot tell its shift from its level tells nothing of scatter either,
    // whatever the covariance
    seasons.iter().filter_map(of).sum()
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
