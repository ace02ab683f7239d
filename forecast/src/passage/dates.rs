//! Arrival, quarters, median, peak and departure of a passage, with the 80 % interval of each
//! long-term date.

use super::cut::Stretch;
use super::{DRAWS, Setting};
use crate::calendar::DAYS;
use crate::fit::DateEstimate;
use crate::window::{quantile, smooth_peak};
use crate::year_curve::posterior::Posterior;

/// The dates of a stretch.
#[derive(Debug, Clone, Default)]
pub struct Dates {
    /// 5 % gone through.
    pub arrival: Option<DateEstimate>,
    /// 25 %
    pub first_quarter: Option<DateEstimate>,
    /// 50 %
    pub median: Option<DateEstimate>,
    /// 75 %
    pub third_quarter: Option<DateEstimate>,
    /// Highest day.
    pub peak: Option<DateEstimate>,
    /// 95 %
    pub departure: Option<DateEstimate>,
    /// Already in numbers when the watch begins.
    pub begun_before_watch: bool,
    /// Still in numbers when the watch ends.
    pub ends_after_watch: bool,
}

/// At the edge of the watch the curve stands above this part of its peak: the passage reaches
/// beyond what is watched.
const CUT_OFF: f64 = 0.1;

/// Half of an 80 % interval of a normal distribution, in standard deviations.
const HALF_OF_80: f64 = 1.281_551_565_545;

/// The curve on a stretch, unwatched days left at zero.
struct Course<'a> {
    posterior: &'a Posterior,
    days: Vec<usize>,
    rates: Vec<f64>,
    total: f64,
    start: f64,
}

impl Course<'_> {
    /// The date by which `part` has gone through. Its interval is by the delta method: days
    /// without birds then weigh nothing, while drawn curves would run wild on them.
    fn part(&self, part: f64) -> Option<DateEstimate> {
        let at = quantile(&self.rates, part)?;
        let here = (at + 0.5).floor().clamp(0.0, (self.rates.len() - 1) as f64) as usize;
        let mut weights = vec![0.0; DAYS];
        for (i, (day, rate)) in self.days.iter().zip(&self.rates).enumerate() {
            let through = (at + 0.5 - i as f64).clamp(0.0, 1.0);
            weights[*day] = rate * (part - through) / self.rates[here];
        }
        let half = HALF_OF_80 * self.posterior.sd_of_sum(&weights);
        let day = self.start + at;
        Some(DateEstimate {
            day,
            known: (day - half, day + half),
            any_year: None,
        })
    }

    /// The highest day. Its interval comes from drawn curves, between the dates given, where
    /// birds tie the curve down: a delta method would miss a second top of nearly the same height.
    fn peak(&self, from: f64, to: f64, seed: u64) -> Option<DateEstimate> {
        if self.total <= 0.0 {
            return None;
        }
        let first = (from - self.start).floor().max(0.0) as usize;
        let last = ((to - self.start).ceil().max(0.0) as usize).min(self.days.len() - 1);
        let inside = &self.days[first..=last.max(first)];
        let top = |curve: &[f64]| {
            let rates: Vec<f64> = inside.iter().map(|d| curve[*d].exp()).collect();
            self.start + first as f64 + smooth_peak(&rates)
        };
        let mut tops: Vec<f64> = self
            .posterior
            .draws(DRAWS, seed)
            .iter()
            .map(|c| top(c))
            .collect();
        tops.sort_by(f64::total_cmp);
        let rank = |p: f64| tops.get((p * tops.len() as f64) as usize).copied();
        let day = top(self.posterior.mean());
        Some(DateEstimate {
            day,
            known: (rank(0.1)?, rank(0.9)?),
            any_year: None,
        })
    }
}

/// Reads the dates off the curve.
pub fn dates(posterior: &Posterior, stretch: &Stretch, setting: &Setting) -> Dates {
    let watched = setting.watched.days();
    let log_mean = posterior.mean();
    let days: Vec<usize> = stretch.indices().collect();
    let rates: Vec<f64> = days
        .iter()
        .map(|d| if watched[*d] { log_mean[*d].exp() } else { 0.0 })
        .collect();
    let total = rates.iter().sum();
    let course = Course {
        posterior,
        days,
        rates,
        total,
        start: stretch.first as f64 + 1.0,
    };
    let (arrival, departure) = (course.part(0.05), course.part(0.95));
    let top = course.rates.iter().copied().fold(0.0, f64::max);
    let mut seen = course.rates.iter().copied().filter(|r| *r > 0.0);
    let (first, last) = (seen.next().unwrap_or(0.0), seen.next_back().unwrap_or(0.0));
    Dates {
        peak: arrival
            .zip(departure)
            .and_then(|(a, d)| course.peak(a.day, d.day, setting.seed)),
        first_quarter: course.part(0.25),
        median: course.part(0.5),
        third_quarter: course.part(0.75),
        begun_before_watch: stretch.after_gap && first > CUT_OFF * top,
        ends_after_watch: stretch.before_gap && last > CUT_OFF * top,
        arrival,
        departure,
    }
}
