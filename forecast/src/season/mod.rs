//! One season of a passage held against the other years: days early or late, times the usual
//! numbers, the part already through, and how far that is from what seasons usually do.
//!
//! What is printed of a season has to be right for that season, also for an odd one. A belief
//! that seasons run on time would draw an odd season towards the usual, and its interval would
//! miss the truth just where it matters. So no belief about timing enters here, and next to none
//! about numbers: the intervals are those of the counts alone, widened by what is not known of
//! the long-term curve and of how its weeks went up and down together. The forecast of a week (`outlook`) keeps its beliefs.

mod borrowed;
mod first;
mod gaps;
mod grid;
mod looked;
mod mixture;
mod named;
mod odd;
mod share;
#[cfg(test)]
mod tests;
mod weeks;

pub use first::{FirstDate, Placed, first_date};
pub use gaps::Gap;
pub use looked::{LEAST_PAUSE_DAYS, Looked, Passing};
pub use named::{about, begun, called, change_called, first_day, last_day, stretch_of};
pub use odd::Oddness;

use crate::calendar::DayOfYear;
use crate::passage::curve::Sighting;
use crate::passage::cut::Stretch;
use crate::passage::own_curve::OwnCurve;
use crate::passage::{self, LEAST_BIRDS, LEAST_SEASONS};
use crate::series::CountSeries;
use borrowed::Borrowed;
use chrono::NaiveDate;
use grid::Grid;
use weeks::{Told, Weeks};

/// Wider than this the 80 % interval of the shift, in days, tells neither early from late nor
/// strong from weak. A choice.
pub const WIDEST_DAYS: f64 = 15.0;

/// Which seasons make the long-term curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Against {
    /// Those before the season: what could be known while it was under way.
    Earlier,
    /// All others, later ones too: a season looked back on.
    Others,
}

/// An estimate with its 80 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// As likely above as below.
    pub middle: f64,
    /// Below it with a chance of 10 %.
    pub low: f64,
    /// Above it with a chance of 10 %.
    pub high: f64,
}

/// The long-term course of a passage, from other seasons.
#[derive(Debug)]
pub struct LongTerm {
    own: OwnCurve,
    stretch: Stretch,
    season: i32,
    /// What its own seasons tell of how weeks scatter together.
    told: Told,
    weeks: Weeks,
}

/// A season against it.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Days late; early is negative.
    pub shift: Estimate,
    /// Times the usual numbers.
    pub times: Estimate,
    /// Part of the season's birds already through, 0..=1.
    pub share: Estimate,
    /// How far from what seasons usually do.
    pub oddness: Oddness,
}

/// What can be said of a season so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Visits of the season that tell something.
    pub visits: usize,
    /// Birds counted on them.
    pub birds: u64,
    /// Birds that these visits find in a usual season.
    pub usual_birds: f64,
    /// Part of a usual season through by now, 0..=1.
    pub usual_share: f64,
    /// Timing and numbers, where the counts tell them.
    pub standing: Result<Standing, Untold>,
}

/// Why timing and numbers are not told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Untold {
    /// No visit yet that would tell.
    NoVisit,
    /// Not a bird so far.
    NoBird,
    /// The counts so far fit early and late alike.
    Vague,
    /// No visit while its birds may have been about.
    NotLooked,
}

/// Why there is no long-term course.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoCourse {
    /// Too few records in the other seasons.
    #[error("{birds} birds in {seasons} other seasons are too few for a curve")]
    TooFew {
        /// birds
        birds: u64,
        /// seasons with birds
        seasons: usize,
    },
    /// The fit failed.
    #[error("no curve could be fitted to the other seasons")]
    Failed,
}

impl LongTerm {
    /// Learns the passage of a stretch of the year from seasons other than the one that begins,
    /// by the stretch, in `season`.
    pub fn learn(
        series: &CountSeries,
        stretch: &Stretch,
        season: i32,
        against: Against,
    ) -> Result<Self, NoCourse> {
        let wanted = |year: i32| match against {
            Against::Earlier => year < season,
            Against::Others => year != season,
        };
        let (birds, seasons) = passage::tally(series, stretch, wanted);
        if birds < LEAST_BIRDS || seasons < LEAST_SEASONS {
            return Err(NoCourse::TooFew { birds, seasons });
        }
        let own = OwnCurve::of_seasons(series, stretch, wanted).ok_or(NoCourse::Failed)?;
        let told = Told::by(&own);
        Ok(LongTerm {
            weeks: Weeks::expected(&told, &[], stretch.length),
            told,
            own,
            stretch: *stretch,
            season,
        })
    }

    /// Lets passages of one site learn from each other how weeks go up and down together: a single
    /// one hardly tells. The order does not matter.
    pub fn side_by_side<'a>(passages: impl Iterator<Item = &'a mut LongTerm>) {
        let mut passages: Vec<&mut LongTerm> = passages.collect();
        let told: Vec<Told> = passages.iter().map(|p| p.told.clone()).collect();
        for (i, passage) in passages.iter_mut().enumerate() {
            let others = told.iter().enumerate();
            let others: Vec<&Told> = others.filter(|(j, _)| *j != i).map(|(_, t)| t).collect();
            passage.weeks = Weeks::expected(&passage.told, &others, passage.stretch.length);
        }
    }

    /// The season's course, from its visits up to and on `until`.
    pub fn course(&self, series: &CountSeries, until: NaiveDate) -> Course {
        let sightings = self.sightings(series, until);
        let curve = &self.own.curve;
        let day = self.end_of(until);
        let birds = sightings.iter().map(|s| u64::from(s.count.birds())).sum();
        let usual = |s: &Sighting| (curve.log_mean(s.offset as f64) + s.log_effort).exp();
        Course {
            visits: sightings.len(),
            birds,
            usual_birds: sightings.iter().map(usual).sum(),
            usual_share: share::through(curve, self.stretch.length, day),
            standing: self.standing(&sightings, day),
        }
    }

    fn standing(&self, sightings: &[Sighting], day: f64) -> Result<Standing, Untold> {
        if sightings.is_empty() {
            return Err(Untold::NoVisit);
        }
        if sightings.iter().all(|s| s.count.birds() == 0) {
            return Err(Untold::NoBird);
        }
        let curve = &self.own.curve;
        let grid = Grid::new(curve, sightings);
        let moments = grid.moments();
        let borrowed = Borrowed::at(curve, sightings, &moments, &self.weeks);
        let shift_variance = borrowed.shift_variance() + self.own.any_year.mean_shift_variance;
        let shift = grid.shifts(shift_variance).estimate();
        if grid.meets_its_edge() || shift.high - shift.low > WIDEST_DAYS {
            return Err(Untold::Vague);
        }
        let times = grid.levels(borrowed.level_variance()).estimate();
        Ok(Standing {
            shift,
            times: Estimate {
                middle: times.middle.exp(),
                low: times.low.exp(),
                high: times.high.exp(),
            },
            share: share::estimate(curve, self.stretch.length, day, &grid, &borrowed),
            oddness: odd::oddness(&moments, &borrowed, &self.own),
        })
    }

    /// This season's visits that tell something.
    fn sightings(&self, series: &CountSeries, until: NaiveDate) -> Vec<Sighting> {
        let (_, sightings) = passage::sightings(series, &self.stretch, |date| {
            date <= until && self.stretch.season_year(date) == self.season
        });
        sightings
    }

    /// The end of a day, in days from the middle of the stretch's first: before the stretch no
    /// day is over, after it all are.
    fn end_of(&self, until: NaiveDate) -> f64 {
        let days = if until < first_day(&self.stretch, self.season) {
            -1.0
        } else if until > last_day(&self.stretch, self.season) {
            self.stretch.length as f64
        } else {
            self.stretch.offset(DayOfYear::of(until).index()) as f64
        };
        days + 0.5
    }

    /// First and last year in which a season of the curve began, and how many there are.
    pub fn years(&self) -> (i32, i32, usize) {
        let years = &self.own.years;
        let first = years.first().copied().unwrap_or(self.season);
        (first, years.last().copied().unwrap_or(first), years.len())
    }

    /// Birds on a standard visit on each day of the stretch, in a usual season, or in one that
    /// runs `shift` days late at `times` the numbers.
    pub fn rates(&self, shift: f64, times: f64) -> Vec<f64> {
        let rate = |day: usize| times * self.own.curve.log_mean(day as f64 - shift).exp();
        (0..self.stretch.length).map(rate).collect()
    }
}
