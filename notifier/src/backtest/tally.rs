//! Scores of one site and year, summed up while its forecasts are made.
//!
//! Counts above [`LARGEST`] are scored as "more than that" for every forecast alike, which keeps
//! the scores proper. Counts without a number (*present*, *at least*) are scored for being found
//! only, and a visit that tells nothing of the species is not scored.

use forecast::backtest::{Forecast, Row};
use forecast::climatology::Climate;
use forecast::outlook::Night;
use forecast::passage::predictive::{LARGEST, pmf};
use forecast::score::interval::Coverage;
use forecast::score::pit::{Step, nonrandomised};
use forecast::score::{Issued, ScoreError, brier, crps};
use forecast::series::Count;
use std::collections::BTreeMap;
use std::ops::{AddAssign, Index};

/// Ours, the hand climatology, that of the last five years.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Three<T> {
    pub ours: T,
    pub hand: T,
    pub recent: T,
}

impl<T> Three<T> {
    pub fn map<U>(&self, each: impl Fn(&T) -> U) -> Three<U> {
        Three {
            ours: each(&self.ours),
            hand: each(&self.hand),
            recent: each(&self.recent),
        }
    }

    pub fn try_map<U, E>(&self, each: impl Fn(&T) -> Result<U, E>) -> Result<Three<U>, E> {
        Ok(Three {
            ours: each(&self.ours)?,
            hand: each(&self.hand)?,
            recent: each(&self.recent)?,
        })
    }

    /// Takes each of ours with its counterpart.
    pub fn update<U>(&mut self, other: &Three<U>, each: impl Fn(&mut T, &U)) {
        each(&mut self.ours, &other.ours);
        each(&mut self.hand, &other.hand);
        each(&mut self.recent, &other.recent);
    }
}

impl<T: AddAssign + Copy> AddAssign for Three<T> {
    fn add_assign(&mut self, other: Self) {
        self.update(&other, |a, b| *a += *b);
    }
}

/// No probability is taken for less in the logarithmic scores, else one night would settle them.
pub(super) const LEAST_PROBABILITY: f64 = 1e-12;
/// Bins of the probability integral transform.
pub(super) const PIT_BINS: usize = 10;
/// Central intervals of which the coverage is told.
pub(super) const LEVELS: [f64; 3] = [0.5, 0.8, 0.95];

/// Sums over forecasts of one kind.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Sums {
    /// Counts scored.
    pub counts: usize,
    /// Birds in them.
    pub birds: u64,
    pub crps: Three<f64>,
    pub log_score: Three<f64>,
    /// Weeks scored.
    pub weeks: usize,
    /// Weeks in which the species was found.
    pub found: usize,
    pub brier: Three<f64>,
    pub log_loss: Three<f64>,
}

impl AddAssign for Sums {
    fn add_assign(&mut self, other: Self) {
        self.counts += other.counts;
        self.birds += other.birds;
        self.crps += other.crps;
        self.log_score += other.log_score;
        self.weeks += other.weeks;
        self.found += other.found;
        self.brier += other.brier;
        self.log_loss += other.log_loss;
    }
}

/// How often intervals held what came, and how often the forecasts said they would.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Kept {
    /// Sum of the probabilities of the intervals.
    pub said: f64,
    pub coverage: Coverage,
}

/// A week's chances and whether the species was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct WeekScored {
    pub chances: Three<f64>,
    pub found: bool,
}

/// Everything that the summary needs of one site and year.
#[derive(Debug, Clone)]
pub(super) struct Tally {
    pub year: i32,
    /// Forecasts made, scored or not.
    pub rows: usize,
    /// Counts on visits that were forecast but have no number to score.
    pub unnumbered: usize,
    /// By species' place and horizon.
    pub cells: BTreeMap<(usize, u32), Sums>,
    pub weeks: Vec<WeekScored>,
    /// Sum over counts of each forecast's mass in each bin.
    pub pit: Three<[f64; PIT_BINS]>,
    /// For each of [`LEVELS`].
    pub intervals: [Three<Kept>; LEVELS.len()],
}

impl Tally {
    pub fn new(year: i32) -> Self {
        Tally {
            year,
            rows: 0,
            unnumbered: 0,
            cells: BTreeMap::new(),
            weeks: Vec::new(),
            pit: Three::default(),
            intervals: Default::default(),
        }
    }

    /// Scores a forecast.
    pub fn add(&mut self, row: &Row) -> Result<(), ScoreError> {
        self.rows += 1;
        match row {
            Row::Week(week) => self.week(week),
            Row::Night(night) => self.night(night),
        }
    }

    fn cell<T, C>(&mut self, forecast: &Forecast<T, C>) -> &mut Sums {
        self.cells
            .entry((forecast.species, forecast.horizon_weeks))
            .or_default()
    }

    fn week(&mut self, week: &Forecast<f64, f64>) -> Result<(), ScoreError> {
        let Some(found) = week.found.found() else {
            return Ok(());
        };
        let chances = Three {
            ours: week.ours,
            hand: week.hand,
            recent: week.recent,
        };
        let issued = chances.map(|chance| Issued {
            chance: *chance,
            happened: found,
        });
        let came = |i: &Issued| if i.happened { i.chance } else { 1.0 - i.chance };
        let sums = self.cell(week);
        sums.weeks += 1;
        sums.found += usize::from(found);
        sums.brier += issued.map(brier::of_one);
        sums.log_loss += issued.map(|i| -came(i).max(LEAST_PROBABILITY).ln());
        self.weeks.push(WeekScored { chances, found });
        Ok(())
    }

    fn night(&mut self, night: &Forecast<Night, Climate>) -> Result<(), ScoreError> {
        let (Count::Exactly(birds) | Count::About(birds)) = night.found else {
            self.unnumbered += 1;
            return Ok(());
        };
        let of_climate = |c: &Climate| Capped::new(&pmf(c.size, c.mean));
        let said = Three {
            ours: Capped::new(&night.ours.probabilities),
            hand: of_climate(&night.hand),
            recent: of_climate(&night.recent),
        };
        let crps = said.try_map(|c| crps::discrete(&c.cdf, Capped::place(birds) as u32))?;
        let bins = said.try_map(|c| nonrandomised(&[c.step(birds)], PIT_BINS))?;
        let sums = self.cell(night);
        sums.counts += 1;
        sums.birds += u64::from(birds);
        sums.crps += crps;
        sums.log_score += said.map(|c| c.log_score(birds));
        self.pit.update(&bins, |sum, pit| {
            sum.iter_mut().zip(&pit.mass).for_each(|(s, m)| *s += m);
        });
        for (level, kept) in LEVELS.into_iter().zip(&mut self.intervals) {
            kept.update(&said, |kept, c| c.cover(level, birds, kept));
        }
        Ok(())
    }
}

/// The distribution of a count, all above [`LARGEST`] as one.
#[derive(Debug, Clone)]
struct Capped {
    /// P(Y <= 0), ..., P(Y <= LARGEST), 1.
    cdf: Vec<f64>,
}

impl Capped {
    fn new(probabilities: &[f64]) -> Self {
        let mut sum = 0.0;
        let add = |p: &f64| {
            sum += p;
            f64::min(sum, 1.0)
        };
        let spelled_out = probabilities.iter().take(LARGEST + 1);
        Capped {
            cdf: spelled_out.map(add).chain([1.0]).collect(),
        }
    }

    fn place(birds: u32) -> usize {
        (birds as usize).min(LARGEST + 1)
    }

    fn below(&self, place: usize) -> f64 {
        place.checked_sub(1).map_or(0.0, |p| *self.cdf.index(p))
    }

    fn step(&self, birds: u32) -> Step {
        let place = Self::place(birds);
        Step {
            lower: self.below(place),
            upper: self.cdf[place],
        }
    }

    fn log_score(&self, birds: u32) -> f64 {
        let Step { lower, upper } = self.step(birds);
        -(upper - lower).max(LEAST_PROBABILITY).ln()
    }

    /// The smallest count that the distribution reaches `p` with.
    fn quantile(&self, p: f64) -> usize {
        self.cdf.partition_point(|f| *f < p)
    }

    fn cover(&self, level: f64, birds: u32, kept: &mut Kept) {
        let tail = (1.0 - level) / 2.0;
        // reached exactly is reached, whatever the rounding of a sum
        let (low, high) = (
            self.quantile(tail - 1e-12),
            self.quantile(1.0 - tail - 1e-12),
        );
        kept.said += self.cdf[high] - self.below(low);
        kept.coverage
            .add(low as f64, high as f64, Self::place(birds) as f64);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use forecast::negative_binomial::Dispersion;
    use forecast::score::log_score;

    #[test]
    fn a_capped_distribution_scores_as_the_whole_one_below_its_cap() {
        let size = Dispersion::Theta(0.7);
        let capped = Capped::new(&pmf(size, 2.3));
        for birds in [0, 1, 4, 25] {
            let score = crps::discrete(&capped.cdf, birds).unwrap();
            assert!(
                (score - crps::count(size, 2.3, birds)).abs() < 1e-9,
                "{birds}"
            );
            let log = capped.log_score(birds) - log_score::count(size, 2.3, birds);
            assert!(log.abs() < 1e-6, "{birds}: {log}");
        }
    }

    #[test]
    fn what_lies_beyond_the_cap_is_one_class() {
        let capped = Capped::new(&pmf(Dispersion::Poisson, 400.0));
        assert!(capped.cdf[LARGEST] < 1e-9);
        let step = capped.step(5000);
        assert!(step.lower < 1e-9 && step.upper == 1.0);
        assert!(capped.log_score(100_000) < 1e-6);
        assert_eq!(capped.log_score(3), -LEAST_PROBABILITY.ln());
        let mut kept = Kept::default();
        capped.cover(0.8, 250, &mut kept);
        assert_eq!((kept.coverage.inside, kept.coverage.above), (1, 0));
    }

    #[test]
    fn intervals_end_where_their_probability_is_reached() {
        // P(Y <= 0) = 0.1, P(Y <= 1) = 0.9, to the last bit or not
        let capped = Capped::new(&[0.1, 0.8, 0.1]);
        let mut kept = Kept::default();
        for birds in [0, 1, 2] {
            capped.cover(0.8, birds, &mut kept);
        }
        assert_eq!(
            (
                kept.coverage.below,
                kept.coverage.inside,
                kept.coverage.above
            ),
            (0, 2, 1)
        );
        assert!((kept.said / 3.0 - 0.9).abs() < 1e-12);
    }
}
