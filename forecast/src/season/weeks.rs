//! Counts of neighbouring days scatter together: a week of head winds holds all of them up. Taken
//! for independent witnesses they would make a season's timing and numbers look better known than
//! they are.
//!
//! log mean of a count = f(d - shift) + level + log effort + w(week), with w a stationary first-order
//! autoregression from week to week. How far w goes and how long it lasts is told by the seasons
//! behind the curve, and by those of the site's other passages, which stand in the same weather: a
//! single passage of some twenty seasons hardly tells none from a factor of 1.5 (their log likelihoods
//! differ by one or so). What it may have been in the season asked about widens the intervals as the
//! unknown of the curve does (`borrowed`).

use crate::negative_binomial::Dispersion;
use crate::passage::best_level::best_level;
use crate::passage::curve::{PassageCurve, Sighting};
use crate::passage::own_curve::OwnCurve;
use crate::passage::timing;
use crate::series::Count;
use nalgebra::{DMatrix, DVector, Vector2};

/// Days that go up and down together.
const WEEK_DAYS: usize = 7;
/// Belief that weeks do not scatter together at all: even. A choice.
const NONE: f64 = 0.5;
/// Else their standard deviation, on the log scale, is half-normal with this scale (a factor of
/// 1.6). A choice.
const USUAL_SD: f64 = 0.5;
/// Standard deviations tried.
const SDS: [f64; 14] = [
    0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.85, 1.0, 1.25, 1.5,
];
/// Correlations of a week with the next that are tried, and how far each is believed in. Weeks that
/// last are taken for the season's level and hardly show, and are the ones that mislead: hence
/// more for them. A choice.
const NEXT: [(f64, f64); 6] = [
    (0.0, 1.0),
    (0.3, 1.0),
    (0.5, 1.0),
    (0.7, 2.0),
    (0.8, 3.0),
    (0.9, 3.0),
];
/// Weeks of a season that tell less than this, as the information of its counts on the log scale,
/// tell nothing of scatter.
const LEAST_INFORMATION: f64 = 1e-3;
/// The curve's theta took the scatter of weeks for that of days: times so much each is tried, even.
const THETAS: [f64; 6] = [0.8, 1.0, 1.2, 1.45, 1.75, 2.1];
/// Timing and level are taken out of a season's weeks; with no week more there is nothing left.
const FITTED: usize = 2;

/// Each standard deviation tried with each correlation; the first is none.
fn tried() -> impl Iterator<Item = (f64, f64)> {
    pairs().map(|(pair, _)| pair)
}

/// Each with the belief in it.
fn pairs() -> impl Iterator<Item = ((f64, f64), f64)> {
    let sd_belief = |sd: f64| width(sd) * (-0.5 * (sd / USUAL_SD).powi(2)).exp();
    let all_sds: f64 = SDS.iter().map(|sd| sd_belief(*sd)).sum();
    let all_nexts: f64 = NEXT.iter().map(|(_, belief)| belief).sum();
    let together = SDS.iter().flat_map(move |sd| {
        let belief = (1.0 - NONE) * sd_belief(*sd) / (all_sds * all_nexts);
        NEXT.map(|(next, of_next)| ((*sd, next), belief * of_next))
    });
    std::iter::once(((0.0, 0.0), NONE)).chain(together)
}

/// Logarithm of the mean of numbers given by their logarithms.
fn log_mean(logs: &[f64; THETAS.len()]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = logs.iter().map(|log| (log - top).exp()).sum();
    top + (sum / logs.len() as f64).ln()
}

/// What the seasons behind a curve tell of how weeks scatter together: the log likelihood of each
/// pair of [`tried`].
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Told(Vec<f64>);

impl Told {
    pub(super) fn by(own: &OwnCurve) -> Self {
        // by pair and theta; a season that one theta can make nothing of tells nothing at all
        let mut sums = vec![[0.0; THETAS.len()]; tried().count()];
        for told in likelihoods(own).into_iter().flatten() {
            for (sums, told) in sums.iter_mut().flatten().zip(told.iter().flatten()) {
                *sums += told;
            }
        }
        Told(sums.iter().map(log_mean).collect())
    }

    /// What passages in the same weather tell together.
    pub(super) fn together<'a>(all: impl Iterator<Item = &'a Told>) -> Self {
        let mut sums = vec![0.0; tried().count()];
        for told in all {
            let pairs = sums.iter_mut().zip(&told.0);
            pairs.for_each(|(sum, told)| *sum += told);
        }
        Told(sums)
    }
}

/// How weeks scatter together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Weeks {
    /// Covariance of a week's factor, log scale, with that so many weeks on.
    by_lag: Vec<f64>,
}

impl Weeks {
    /// In a stretch of `length` days: the covariance that is to be expected by what was told.
    pub(super) fn expected(told: &Told, length: usize) -> Self {
        let logs: Vec<f64> = pairs()
            .zip(&told.0)
            .map(|((_, belief), told)| belief.ln() + told)
            .collect();
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
        let total: f64 = weights.iter().sum();
        let at = |lag: usize| -> f64 {
            let parts = tried().zip(&weights);
            parts
                .map(|((sd, next), weight)| weight * at_lag(sd, next, lag))
                .sum::<f64>()
                / total
        };
        Weeks {
            by_lag: (0..=length / WEEK_DAYS).map(at).collect(),
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
struct Scores {
    /// Log likelihood of its counts where weeks do not scatter.
    alone: f64,
    weeks: Vec<usize>,
    /// Root of the information of a week's counts.
    root: DVector<f64>,
    /// Slope of its log likelihood.
    score: DVector<f64>,
    /// By how much the season's shift and level move it.
    fitted: DMatrix<f64>,
}

/// Log likelihoods of each season by pair and theta.
fn likelihoods(own: &OwnCurve) -> Vec<Option<Vec<[f64; THETAS.len()]>>> {
    let curves = THETAS.map(|times| {
        let mut curve = own.curve.clone();
        curve.dispersion = curve.dispersion.scaled(f64::ln(times));
        curve
    });
    let lined_up = timing::drawn_in(&own.shifts, own.any_year.spread_days);
    let season = |(season, shift): (usize, &f64)| {
        let seen = own.sightings.iter().filter(|s| s.season == season);
        let seen: Vec<Sighting> = seen.copied().collect();
        let by_theta = curves.iter().map(|c| of_season(c, &seen, *shift));
        let by_theta: Vec<Scores> = by_theta.collect::<Option<_>>()?;
        let of_pair = |(sd, next)| {
            let mut told = [0.0; THETAS.len()];
            for (told, scores) in told.iter_mut().zip(&by_theta) {
                *told = scores.likelihood(|lag| at_lag(sd, next, lag))?;
            }
            Some(told)
        };
        tried().map(of_pair).collect()
    };
    lined_up.iter().enumerate().map(season).collect()
}

fn of_season(curve: &PassageCurve, seen: &[Sighting], shift: f64) -> Option<Scores> {
    let at = |s: &Sighting| curve.log_mean_and_slope(s.offset as f64 - shift);
    let means: Vec<f64> = seen.iter().map(|s| at(s).0 + s.log_effort).collect();
    let (level, _) = best_level(curve, seen, &means, 0.0);
    let mut alone = 0.0;
    // week, score, information, and the latter by shift and level
    let mut weeks: Vec<(usize, f64, f64, Vector2<f64>)> = Vec::new();
    for (s, mean) in seen.iter().zip(&means) {
        let (Count::Exactly(n) | Count::About(n)) = s.count else {
            continue;
        };
        let mean = (mean + level).exp();
        let (score, information) = score(n, mean, curve.dispersion);
        alone += curve.dispersion.ln_pmf(n, mean);
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
    Some(Scores {
        alone,
        score: DVector::from_fn(weeks.len(), |k, _| weeks[k].1 / root[k]),
        fitted: DMatrix::from_fn(weeks.len(), FITTED, |k, j| weeks[k].3[j] / root[k]),
        weeks: weeks.iter().map(|w| w.0).collect(),
        root,
    })
}

impl Scores {
    /// Log likelihood of the counts where weeks so many apart have the covariance given, normal to the
    /// second order, whatever the season's shift and level were (restricted likelihood:
    /// Patterson & Thompson 1971, Biometrika 58:545-554); None where they cannot be told apart.
    fn likelihood(&self, covariance: impl Fn(usize) -> f64) -> Option<f64> {
        let n = self.weeks.len();
        let scatter = DMatrix::from_fn(n, n, |a, b| {
            let alone = if a == b { 1.0 } else { 0.0 };
            let lag = self.weeks[a].abs_diff(self.weeks[b]);
            alone + self.root[a] * covariance(lag) * self.root[b]
        });
        let scatter = scatter.cholesky()?;
        let freed = scatter.solve(&self.fitted);
        let inner = (self.fitted.transpose() * &freed).cholesky()?;
        let pulled = freed.transpose() * &self.score;
        let left = scatter.solve(&self.score).dot(&self.score) - inner.solve(&pulled).dot(&pulled);
        let spread = scatter.ln_determinant() + inner.ln_determinant();
        Some(self.alone + 0.5 * (self.score.norm_squared() - left - spread))
    }
}

/// Slope of a count's log likelihood by the log of its mean, and the expected square of it.
fn score(n: u32, mean: f64, dispersion: Dispersion) -> (f64, f64) {
    let kept = dispersion
        .theta()
        .map_or(1.0, |theta| theta / (theta + mean));
    (kept * (f64::from(n) - mean), kept * mean)
}
