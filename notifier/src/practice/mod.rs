//! Practice for learners: a date and a site are drawn, a bird is drawn from the shares of that date,
//! its marks are told one by one, and the chances that a learner gives are scored.
//!
//! All hangs on a seed, so that a teacher can have the same again as long as counts and sets stay
//! as they are. Nothing is kept.

mod clue;
mod draw;
pub mod mark;
pub mod sheet;
mod told;

pub use clue::Clue;
pub use draw::{LARGEST_SEED, Wanted, draw, seed_of};
pub use told::{Told, told};

use crate::guidance::SiteView;
use crate::lesson::Lesson;
use config::look_alikes::{LookAlikeSet, Plumage};
use forecast::calendar::DayOfYear;

/// Said with every drawn bird.
pub const DRAWN: &str =
    "This bird is drawn by lot: nobody saw it. A forecast never identifies a bird.";

/// How the score works, in one sentence.
pub const SCORE: &str = "The score adds up, over the species, the square of the chance you gave less what came \
    (1 for the drawn bird\u{2019}s species, 0 for the others): 0 is sure and right, 2 sure and wrong, and \
    over many birds nobody does better than by giving the chances they believe in (a Brier score).";

/// A bird to practise on.
pub struct Exercise<'a> {
    /// What it was drawn by.
    pub seed: u64,
    /// The site.
    pub view: SiteView<'a>,
    /// The set, of its members those that may be the bird.
    pub set: LookAlikeSet,
    /// The day.
    pub day: DayOfYear,
    /// Shares of the members on that day; they sum to 1.
    pub shares: Vec<f64>,
    /// Birds on which the shares rest.
    pub effective_birds: f64,
    /// Which member it is.
    pub bird: usize,
    /// In which plumage.
    pub plumage: Plumage,
}

impl Exercise<'_> {
    /// The month, 1..=12.
    pub fn month(&self) -> u8 {
        month(self.day)
    }

    /// The set as it holds there and then.
    pub fn lesson(&self) -> Lesson<'_> {
        Lesson::at(&self.view, &self.set, Some(self.month()))
    }

    /// The bird's marks, the most trusted first.
    pub fn clues<'l>(&self, lesson: &'l Lesson<'l>) -> Vec<Clue<'l>> {
        clue::of(lesson, self.bird, self.plumage)
    }
}

/// The month of a day of a common year.
fn month(day: DayOfYear) -> u8 {
    let date = day.in_year(2023).map(|d| chrono::Datelike::month(&d));
    date.map_or(12, |m| m as u8)
}
