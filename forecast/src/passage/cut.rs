//! Where one passage ends and the next begins.

use crate::calendar::{DAYS, DayOfYear};
use crate::series::CountSeries;
use crate::watched::Watched;
use crate::year_curve::posterior::Posterior;
use chrono::{Datelike, Duration, NaiveDate};
use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::gamma::gamma_lr;

/// A trough cuts the year where it is at most this part of the lower neighbouring peak ...
pub const DEPTH: f64 = 1.0 / 3.0;
/// ... with at least this posterior probability.
pub const CERTAINTY: f64 = 0.9;
/// Unwatched for this many days or more, the year is cut whatever the curve does in between.
pub const UNWATCHED_DAYS: usize = 14;

/// A stretch of the circle of the year.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// Index of its first day, 0..366.
    pub first: usize,
    /// Days in it.
    pub length: usize,
    /// The site is not watched before it.
    pub after_gap: bool,
    /// The site is not watched after it.
    pub before_gap: bool,
}

impl Stretch {
    /// Its days by index, in order.
    pub fn indices(&self) -> impl Iterator<Item = usize> + use<> {
        let first = self.first;
        (0..self.length).map(move |i| (first + i) % DAYS)
    }

    /// Days from its first day to a day of the year, going forward.
    pub fn offset(&self, day: usize) -> usize {
        (day + DAYS - self.first) % DAYS
    }

    /// The year in which the season that holds the date began: days after New Year belong to
    /// the season that began before it.
    pub fn season_year(&self, date: NaiveDate) -> i32 {
        (date - Duration::days(self.offset(DayOfYear::of(date).index()) as i64)).year()
    }

    /// Does it hold the day?
    pub fn holds(&self, day: usize) -> bool {
        self.offset(day) < self.length
    }
}

/// Birds and effort by day of the year, all years together.
#[derive(Debug, Clone)]
pub struct Evidence {
    birds: Vec<f64>,
    /// In standard visits.
    visits: Vec<f64>,
}

impl Evidence {
    /// From the visits that tell something.
    pub fn of(series: &CountSeries) -> Self {
        let mut evidence = Evidence {
            birds: vec![0.0; DAYS],
            visits: vec![0.0; DAYS],
        };
        for (visit, count) in series.known() {
            evidence.birds[visit.day().index()] += f64::from(count.birds());
            evidence.visits[visit.day().index()] += visit.log_effort_ratio.exp();
        }
        evidence
    }

    /// Probability that the rate about a day is below a bar, from the birds and visits within
    /// [`TROUGH_REACH_DAYS`] of it: a gamma posterior with Jeffreys' prior.
    fn below(&self, day: usize, bar: f64) -> f64 {
        let near =
            || (0..=2 * TROUGH_REACH_DAYS).map(|i| (day + DAYS + i - TROUGH_REACH_DAYS) % DAYS);
        let birds: f64 = near().map(|d| self.birds[d]).sum();
        let visits: f64 = near().map(|d| self.visits[d]).sum();
        if visits <= 0.0 || bar <= 0.0 {
            return 0.0;
        }
        gamma_lr(birds + 0.5, visits * bar)
    }
}

/// Days on either side of a trough whose birds are counted.
const TROUGH_REACH_DAYS: usize = 7;
/// Above this standard deviation of the log ratio the normal approximation has run into days
/// without birds, where the log rate is bounded from above only; counting birds is then better.
const WIDE: f64 = 1.0;

/// What a cut is decided on.
#[derive(Debug, Clone, Copy)]
pub struct Grounds<'a> {
    /// The year curve.
    pub posterior: &'a Posterior,
    /// The counts behind it.
    pub evidence: &'a Evidence,
}

/// Cuts the year: at the user's days where given, else at long unwatched gaps and at troughs
/// that are deep beyond doubt. Empty where nothing cuts it: the species is there all year.
pub fn cut(grounds: Grounds, watched: &Watched, cuts: &[DayOfYear]) -> Vec<Stretch> {
    if !cuts.is_empty() {
        return between_cuts(cuts);
    }
    let gaps: Vec<(usize, usize)> = watched
        .runs(false)
        .into_iter()
        .filter(|(_, length)| *length >= UNWATCHED_DAYS)
        .collect();
    if gaps.is_empty() {
        return whole_year(grounds);
    }
    let mut stretches = Vec::new();
    for (i, (start, length)) in gaps.iter().enumerate() {
        let first = (start + length) % DAYS;
        let next_gap = gaps[(i + 1) % gaps.len()].0;
        let between = match (next_gap + DAYS - first) % DAYS {
            0 if gaps.len() == 1 => DAYS - length,
            n => n,
        };
        if between > 0 {
            stretches.extend(at_troughs(grounds, first, between));
        }
    }
    stretches.sort_by_key(|s| s.first);
    stretches
}

fn between_cuts(cuts: &[DayOfYear]) -> Vec<Stretch> {
    let mut firsts: Vec<usize> = cuts.iter().map(|d| d.index()).collect();
    firsts.sort_unstable();
    firsts.dedup();
    let length = |i: usize| match (firsts[(i + 1) % firsts.len()] + DAYS - firsts[i]) % DAYS {
        0 => DAYS,
        n => n,
    };
    (0..firsts.len())
        .map(|i| Stretch {
            first: firsts[i],
            length: length(i),
            after_gap: false,
            before_gap: false,
        })
        .collect()
}

/// A year watched throughout: cut at every certain trough; one trough alone makes one passage.
fn whole_year(grounds: Grounds) -> Vec<Stretch> {
    let mean = grounds.posterior.mean();
    let mut modes = modes_on_circle(mean);
    loop {
        let n = modes.len();
        if n == 0 {
            return Vec::new();
        }
        let valleys: Vec<(usize, f64)> = (0..n)
            .map(|i| {
                let (a, b) = (modes[i], modes[(i + 1) % n]);
                let steps = if n == 1 { DAYS } else { (b + DAYS - a) % DAYS };
                let trough = lowest(mean, a, steps);
                (trough, certainty(grounds, trough, a, b))
            })
            .collect();
        let Some(weakest) = weakest(&valleys) else {
            let first = |i: usize| valleys[i].0;
            let whole = |i: usize| {
                if n == 1 {
                    DAYS
                } else {
                    (first((i + 1) % n) + DAYS - first(i)) % DAYS
                }
            };
            let mut cut: Vec<Stretch> = (0..n)
                .map(|i| Stretch {
                    first: first(i),
                    length: whole(i),
                    after_gap: false,
                    before_gap: false,
                })
                .collect();
            cut.sort_by_key(|s| s.first);
            return cut;
        };
        let (a, b) = (weakest, (weakest + 1) % n);
        modes.remove(if mean[modes[a]] < mean[modes[b]] {
            a
        } else {
            b
        });
    }
}

/// A watched stretch between two unwatched gaps.
fn at_troughs(grounds: Grounds, first: usize, length: usize) -> Vec<Stretch> {
    let mean = grounds.posterior.mean();
    let day = |i: usize| (first + i) % DAYS;
    let height = |i: usize| mean[day(i)];
    let is_mode = |i: &usize| {
        (*i == 0 || height(*i) > height(i - 1)) && (*i + 1 == length || height(*i) >= height(i + 1))
    };
    let mut modes: Vec<usize> = (0..length).filter(is_mode).collect();
    let valleys = loop {
        let valleys: Vec<(usize, f64)> = modes
            .windows(2)
            .map(|pair| {
                let trough = lowest(mean, day(pair[0]), pair[1] - pair[0]);
                (
                    trough,
                    certainty(grounds, trough, day(pair[0]), day(pair[1])),
                )
            })
            .collect();
        match weakest(&valleys) {
            None => break valleys,
            Some(i) => modes.remove(if height(modes[i]) < height(modes[i + 1]) {
                i
            } else {
                i + 1
            }),
        };
    };
    let mut starts = vec![0];
    starts.extend(
        valleys
            .iter()
            .map(|(trough, _)| (trough + DAYS - first) % DAYS),
    );
    starts.push(length);
    let part = |w: &[usize]| Stretch {
        first: day(w[0]),
        length: w[1] - w[0],
        after_gap: w[0] == 0,
        before_gap: w[1] == length,
    };
    starts.windows(2).map(part).collect()
}

fn modes_on_circle(mean: &[f64]) -> Vec<usize> {
    let n = mean.len();
    (0..n)
        .filter(|i| mean[*i] > mean[(i + n - 1) % n] && mean[*i] >= mean[(i + 1) % n])
        .collect()
}

/// Index of the lowest day among the `steps` days after `from`.
fn lowest(mean: &[f64], from: usize, steps: usize) -> usize {
    let n = mean.len();
    (1..=steps.max(1))
        .map(|i| (from + i) % n)
        .min_by(|a, b| mean[*a].total_cmp(&mean[*b]))
        .unwrap_or(from)
}

/// Posterior probability that the trough is deep enough under the lower of its two peaks.
fn certainty(grounds: Grounds, trough: usize, left: usize, right: usize) -> f64 {
    let mean = grounds.posterior.mean();
    let peak = if mean[left] < mean[right] {
        left
    } else {
        right
    };
    let (difference, sd) = grounds.posterior.difference(trough, peak);
    if sd > WIDE {
        return grounds.evidence.below(trough, DEPTH * mean[peak].exp());
    }
    let z = (DEPTH.ln() - difference) / sd.max(1e-12);
    Normal::standard().cdf(z)
}

/// The least certain valley that does not cut; None when all of them do.
fn weakest(valleys: &[(usize, f64)]) -> Option<usize> {
    (0..valleys.len())
        .filter(|i| valleys[*i].1 < CERTAINTY)
        .min_by(|a, b| valleys[*a].1.total_cmp(&valleys[*b].1))
}
