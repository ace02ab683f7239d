//! What the seasons behind a curve tell of how weeks scatter together.

use super::{Pair, WEEK_DAYS, tried};
use crate::negative_binomial::Dispersion;
use crate::passage::best_level::best_level;
use crate::passage::curve::Sighting;
use crate::passage::own_curve::OwnCurve;
use crate::passage::timing;
use crate::series::Count;
use crate::year_curve::likelihood::step_row;
use nalgebra::{DMatrix, DVector, Vector2};

/// The curve's theta took the scatter of weeks for that of days: times so much each is tried, even.
const THETAS: [f64; 6] = [0.8, 1.0, 1.2, 1.45, 1.75, 2.1];
/// Weeks of a season that tell less than this, as the information of its counts on the log scale,
/// tell nothing of scatter.
const LEAST_INFORMATION: f64 = 1e-3;
/// Timing and level are taken out of a season's weeks; with no week more there is nothing left.
const FITTED: usize = 2;
/// One season makes scatter no likelier than none by more than this, as a log likelihood: a single
/// flock out of its time is no weather. A choice; a season of weeks that do scatter gives one or two.
const MOST_BY_A_SEASON: f64 = 4.0;

/// Log likelihood of each pair of [`tried`], above that of none.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::season) struct Told(pub(super) Vec<f64>);

/// One season under one theta: the log likelihood of none, and by pair what is above it.
type UnderTheta = (f64, Vec<f64>);

impl Told {
    pub(in crate::season) fn by(own: &OwnCurve) -> Self {
        let pairs = tried();
        let lined_up = timing::drawn_in(&own.shifts, own.any_year.spread_days);
        let told = lined_up.iter().enumerate();
        let told: Vec<Vec<UnderTheta>> = told
            .filter_map(|(season, shift)| of_season(own, season, *shift, &pairs))
            .collect();
        let none = |theta: usize| told.iter().map(|season| season[theta].0).sum();
        let none: Vec<f64> = (0..THETAS.len()).map(none).collect();
        let at = |pair: usize| {
            let above = |theta: usize| told.iter().map(|s| s[theta].1[pair]).sum::<f64>();
            let both = none.iter().enumerate();
            let both: Vec<f64> = both.map(|(theta, none)| none + above(theta)).collect();
            log_sum(&both) - log_sum(&none)
        };
        Told((0..pairs.len()).map(at).collect())
    }
}

/// Logarithm of the sum of numbers given by their logarithms.
fn log_sum(logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + logs.iter().map(|log| (log - top).exp()).sum::<f64>().ln()
}

/// By theta; None where the season tells nothing under one of them, so that all speak of the same
/// counts.
fn of_season(own: &OwnCurve, season: usize, shift: f64, pairs: &[Pair]) -> Option<Vec<UnderTheta>> {
    let seen = own.sightings.iter().filter(|s| s.season == season);
    let seen: Vec<Sighting> = seen.copied().collect();
    let at = |s: &Sighting| {
        let (mean, slope) = own.curve.log_mean_and_slope(s.offset as f64 - shift);
        (mean + s.log_effort, slope)
    };
    let (means, slopes): (Vec<f64>, Vec<f64>) = seen.iter().map(at).unzip();
    let (level, _) = best_level(&own.curve, &seen, &means, 0.0);
    let lines = means.iter().map(|mean| mean + level).zip(slopes);
    let lines: Vec<(f64, f64)> = lines.collect();
    let under = |times: &f64| {
        let scores = Scores::of(&seen, &lines, own.curve.dispersion.scaled(times.ln()))?;
        let none = scores.likelihood(|_| 0.0).filter(|log| log.is_finite())?;
        let above = |pair: &Pair| {
            let told = scores.likelihood(|lag| pair.at_lag(lag))? - none;
            Some(told.min(MOST_BY_A_SEASON))
        };
        Some((none, pairs.iter().map(above).collect::<Option<_>>()?))
    };
    THETAS.iter().map(under).collect()
}

/// What one season tells of scatter, each week divided by the root of its information.
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

/// A week's slope and information, the latter by shift and level.
struct Week {
    week: usize,
    score: f64,
    information: f64,
    fitted: Vector2<f64>,
}

impl Scores {
    /// Of exact counts with their log means and the slopes of these by the day. The information is
    /// the observed one: by the expected one a flock where few birds are due would outweigh all else.
    fn of(seen: &[Sighting], lines: &[(f64, f64)], dispersion: Dispersion) -> Option<Self> {
        let mut alone = 0.0;
        let mut weeks: Vec<Week> = Vec::new();
        for (s, (mean, slope)) in seen.iter().zip(lines) {
            let (Count::Exactly(n) | Count::About(n)) = s.count else {
                continue;
            };
            let (_, score, information) = step_row(s.count, *mean, dispersion)?;
            alone += dispersion.ln_pmf(n, mean.exp());
            let week = s.offset / WEEK_DAYS;
            if weeks.last().is_none_or(|last| last.week != week) {
                weeks.push(Week {
                    week,
                    score: 0.0,
                    information: 0.0,
                    fitted: Vector2::zeros(),
                });
            }
            let last = weeks.last_mut()?;
            last.score += score;
            last.information += information;
            last.fitted += information * Vector2::new(-slope, 1.0);
        }
        weeks.retain(|w| w.information > LEAST_INFORMATION);
        if weeks.len() <= FITTED {
            return None;
        }
        let root = DVector::from_iterator(weeks.len(), weeks.iter().map(|w| w.information.sqrt()));
        Some(Scores {
            alone,
            score: DVector::from_fn(weeks.len(), |k, _| weeks[k].score / root[k]),
            fitted: DMatrix::from_fn(weeks.len(), FITTED, |k, j| weeks[k].fitted[j] / root[k]),
            weeks: weeks.iter().map(|w| w.week).collect(),
            root,
        })
    }

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
