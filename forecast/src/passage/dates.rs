//! Arrival, quarters, median, peak and departure of a passage, with two 80 % intervals of each:
//! how well the long-term date is known, and where it falls in any one year.

use super::DRAWS;
use crate::fit::DateEstimate;
use crate::negative_binomial::Dispersion;
use crate::window::{quantile, smooth_peak};
use crate::year_curve::posterior::Posterior;
use statrs::distribution::{ContinuousCDF, StudentsT};

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

/// What makes one year differ from the long term.
#[derive(Debug, Clone)]
pub struct AnyYear {
    /// Standard deviation of the shift from year to year, days.
    pub spread_days: f64,
    /// Variance of the mean shift of the seasons seen about the long-term one, squared days.
    pub mean_shift_variance: f64,
    /// Scatter of counts.
    pub dispersion: Dispersion,
    /// Visits a season on each day of the stretch.
    pub visits: Vec<f64>,
    /// Seasons behind the curve.
    pub seasons: usize,
}

/// A curve on the days of a stretch.
pub struct Course<'a> {
    /// Log expected counts with their uncertainty.
    pub posterior: &'a Posterior,
    /// Row of the posterior for each day of the stretch.
    pub rows: Vec<usize>,
    /// Is the site watched, day by day?
    pub watched: Vec<bool>,
    /// Position of the stretch's first day on the circle of the year.
    pub start: f64,
    /// The site is not watched before and after the stretch.
    pub gaps: (bool, bool),
    /// None where only the long-term dates are wanted.
    pub any_year: Option<AnyYear>,
    /// Seed of the draws behind the peak's interval.
    pub seed: u64,
}

/// At the edge of the watch the curve stands above this part of its peak: the passage reaches
/// beyond what is watched.
const CUT_OFF: f64 = 0.1;
/// Half of an 80 % interval of a normal distribution, in standard deviations.
const HALF_OF_80: f64 = 1.281_551_565_545;

impl Course<'_> {
    /// Reads the dates off the curve.
    pub fn dates(&self) -> Dates {
        let rates = self.rates();
        let (arrival, departure) = (self.part(&rates, 0.05), self.part(&rates, 0.95));
        let top = rates.iter().copied().fold(0.0, f64::max);
        let mut seen = rates.iter().copied().filter(|r| *r > 0.0);
        let (first, last) = (seen.next().unwrap_or(0.0), seen.next_back().unwrap_or(0.0));
        Dates {
            peak: arrival
                .zip(departure)
                .and_then(|(a, d)| self.peak(a.day, d.day)),
            first_quarter: self.part(&rates, 0.25),
            median: self.part(&rates, 0.5),
            third_quarter: self.part(&rates, 0.75),
            begun_before_watch: self.gaps.0 && first > CUT_OFF * top,
            ends_after_watch: self.gaps.1 && last > CUT_OFF * top,
            arrival,
            departure,
        }
    }

    /// Expected counts, unwatched days left at zero.
    fn rates(&self) -> Vec<f64> {
        let mean = self.posterior.mean();
        let days = self.rows.iter().zip(&self.watched);
        days.map(|(row, watched)| if *watched { mean[*row].exp() } else { 0.0 })
            .collect()
    }

    /// The date by which `part` has gone through. Its interval is by the delta method: days
    /// without birds then weigh nothing, while drawn curves would run wild on them.
    fn part(&self, rates: &[f64], part: f64) -> Option<DateEstimate> {
        let at = quantile(rates, part)?;
        let here = rates[(at + 0.5).floor().clamp(0.0, (rates.len() - 1) as f64) as usize];
        let pull = |i: usize| part - (at + 0.5 - i as f64).clamp(0.0, 1.0);
        let mut weights = vec![0.0; self.posterior.mean().len()];
        for (i, (row, rate)) in self.rows.iter().zip(rates).enumerate() {
            weights[*row] = rate * pull(i) / here;
        }
        let curve_sd = self.posterior.sd_of_sum(&weights);
        let scatter = |year: &AnyYear| self.scatter_variance(year, rates, here, &pull);
        Some(self.estimate(self.start + at, curve_sd, scatter))
    }

    fn estimate(&self, day: f64, curve_sd: f64, scatter: impl Fn(&AnyYear) -> f64) -> DateEstimate {
        let half = self.half_of_80();
        let around = |sd: f64| (day - half * sd, day + half * sd);
        let known_sd = curve_sd.hypot(self.mean_shift_sd());
        let any_year = self.any_year.as_ref().map(|year| {
            around((known_sd * known_sd + year.spread_days.powi(2) + scatter(year)).sqrt())
        });
        DateEstimate {
            day,
            known: around(known_sd),
            any_year,
        }
    }

    /// Half of an 80 % interval in standard deviations: Student's, since the spread between
    /// seasons is itself known from few of them.
    fn half_of_80(&self) -> f64 {
        let seasons = self.any_year.as_ref().map_or(0, |year| year.seasons);
        if seasons < 2 {
            return HALF_OF_80;
        }
        StudentsT::new(0.0, 1.0, seasons as f64 - 1.0).map_or(HALF_OF_80, |t| t.inverse_cdf(0.9))
    }

    /// A curve whose seasons were lined up does not know by how much they all ran early or late.
    fn mean_shift_sd(&self) -> f64 {
        self.any_year
            .as_ref()
            .map_or(0.0, |year| year.mean_shift_variance.sqrt())
    }

    /// Variance, in squared days, of a season's own date about its expected one: counts scatter
    /// from visit to visit, and only visited days tell.
    fn scatter_variance(
        &self,
        year: &AnyYear,
        rates: &[f64],
        here: f64,
        pull: &dyn Fn(usize) -> f64,
    ) -> f64 {
        let total: f64 = rates.iter().sum();
        let seen: f64 = rates.iter().zip(&year.visits).map(|(r, v)| r * v).sum();
        if seen <= 0.0 {
            return 0.0;
        }
        let noise = |rate: f64| match year.dispersion {
            Dispersion::Poisson => rate,
            Dispersion::Theta(theta) => rate + rate * rate / theta,
        };
        let sum: f64 = rates
            .iter()
            .zip(&year.visits)
            .enumerate()
            .map(|(i, (rate, visits))| visits * noise(*rate) * pull(i).powi(2))
            .sum();
        sum / (seen * here / total).powi(2)
    }

    /// The highest day. Its interval comes from drawn curves, between the dates given, where
    /// birds tie the curve down: a delta method would miss a second top of nearly the same height.
    fn peak(&self, from: f64, to: f64) -> Option<DateEstimate> {
        let first = (from - self.start).floor().max(0.0) as usize;
        let last = ((to - self.start).ceil().max(0.0) as usize).min(self.rows.len() - 1);
        let inside = self.rows.get(first..=last.max(first))?;
        let top = |curve: &[f64]| {
            let rates: Vec<f64> = inside.iter().map(|d| curve[*d].exp()).collect();
            self.start + first as f64 + smooth_peak(&rates)
        };
        let draws = self.posterior.draws(DRAWS, self.seed);
        let mut tops: Vec<f64> = draws.iter().map(|c| top(c)).collect();
        tops.sort_by(f64::total_cmp);
        let rank = |p: f64| tops.get((p * tops.len() as f64) as usize).copied();
        let day = top(self.posterior.mean());
        let half = self.half_of_80();
        let wider = |side: f64| (side / HALF_OF_80).hypot(self.mean_shift_sd()) * half;
        let known = (day - wider(day - rank(0.1)?), day + wider(rank(0.9)? - day));
        let any_year = self.any_year.as_ref().map(|year| {
            let widened = |side: f64| (side / half).hypot(year.spread_days) * half;
            (day - widened(day - known.0), day + widened(known.1 - day))
        });
        Some(DateEstimate {
            day,
            known,
            any_year,
        })
    }
}
