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

mod told;

pub(super) use told::Told;

use nalgebra::DMatrix;

/// Days that go up and down together.
const WEEK_DAYS: usize = 7;
/// Belief that weeks do not scatter together at all: even. A choice.
const NONE: f64 = 0.5;
/// Else their standard deviation, on the log scale, is half-normal with this scale (a factor of
/// 1.6). A choice.
const USUAL_SD: f64 = 0.5;
/// Standard deviations tried, each with the stretch of values that it stands for.
const SDS: [(f64, f64); 14] = [
    (0.05, 0.05),
    (0.1, 0.05),
    (0.15, 0.05),
    (0.2, 0.05),
    (0.25, 0.05),
    (0.3, 0.075),
    (0.4, 0.1),
    (0.5, 0.1),
    (0.6, 0.1),
    (0.7, 0.125),
    (0.85, 0.15),
    (1.0, 0.2),
    (1.25, 0.25),
    (1.5, 0.125),
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
/// Belief that a passage is not like the others of its site. A choice.
const UNLIKE: f64 = 0.05;

/// A way in which weeks may scatter together.
struct Pair {
    /// Standard deviation of a week's factor, log scale.
    sd: f64,
    /// Correlation with the next week's.
    next: f64,
    belief: f64,
}

impl Pair {
    /// Covariance of weeks so many apart.
    fn at_lag(&self, lag: usize) -> f64 {
        self.sd * self.sd * self.next.powi(lag as i32)
    }
}

/// All that is tried; the first is none.
fn tried() -> Vec<Pair> {
    let of_sd = |sd: f64, width: f64| width * (-0.5 * (sd / USUAL_SD).powi(2)).exp();
    let all_sds: f64 = SDS.iter().map(|(sd, width)| of_sd(*sd, *width)).sum();
    let all_nexts: f64 = NEXT.iter().map(|(_, belief)| belief).sum();
    let together = SDS.iter().flat_map(|(sd, width)| {
        let belief = (1.0 - NONE) * of_sd(*sd, *width) / (all_sds * all_nexts);
        NEXT.map(|(next, of_next)| Pair {
            sd: *sd,
            next,
            belief: belief * of_next,
        })
    });
    let none = Pair {
        sd: 0.0,
        next: 0.0,
        belief: NONE,
    };
    std::iter::once(none).chain(together).collect()
}

/// Beliefs times likelihoods given by their logarithms, summing to 1.
fn updated(beliefs: &[f64], logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let both = beliefs.iter().zip(logs);
    let weights: Vec<f64> = both.map(|(b, log)| b * (log - top).exp()).collect();
    let total: f64 = weights.iter().sum();
    weights.iter().map(|w| w / total).collect()
}

/// How weeks scatter together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Weeks {
    /// Covariance of a week's factor, log scale, with that so many weeks on.
    by_lag: Vec<f64>,
}

impl Weeks {
    /// In a stretch of `length` days: the covariance that is to be expected by what the passage's own
    /// seasons tell, and those of others of its site.
    pub(super) fn expected(own: &Told, others: &[&Told], length: usize) -> Self {
        let tried = tried();
        let mut beliefs: Vec<f64> = tried.iter().map(|pair| pair.belief).collect();
        if !others.is_empty() {
            let sum = |pair: usize| others.iter().map(|told| told.0[pair]).sum();
            let like_them = updated(&beliefs, &(0..tried.len()).map(sum).collect::<Vec<_>>());
            let both = beliefs.iter_mut().zip(like_them);
            both.for_each(|(b, like)| *b = UNLIKE * *b + (1.0 - UNLIKE) * like);
        }
        let weights = updated(&beliefs, &own.0);
        let at = |lag: usize| {
            let parts = weights.iter().zip(&tried);
            parts.map(|(weight, pair)| weight * pair.at_lag(lag)).sum()
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
    #[cfg(test)]
    pub(super) fn sd(&self) -> f64 {
        self.by_lag[0].sqrt()
    }
}
