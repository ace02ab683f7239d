//! The demo: an invented coastal reserve, Skerrow Ness, whose counts are drawn from a known
//! [`truth`] by a seeded generator, so that everybody can see what a forecast makes of it.

mod counts;
mod files;
mod random;
mod seasons;
mod species;
mod truth;
mod visits;
mod weather;
mod write;
mod writing;

#[cfg(test)]
mod tests;

pub use files::{DemoFiles, listed_species};
pub use truth::{
    DUNE_WOOD, Gap, LONG_BANK, SITES, Shape, TERN_LAGOON, TruePassage, TrueSite, TrueSpecies,
    TrueWeather, Truth, Warmth, truth,
};
pub use write::{FIRST_LINE, write};

use chrono::NaiveDate;
use std::path::PathBuf;

/// The seed of the demo that everybody gets. Chosen among thirty because its springs happen to
/// show the link to warmth plainly; other seeds hold the same link, some less visibly.
pub const SEED: u64 = 1719;
/// First year of its counts.
pub const FIRST_YEAR: i32 = 2000;
/// Last year of its counts, watched until [`LAST_MONTH_DAY`].
pub const LAST_YEAR: i32 = 2026;
/// Month and day of the last year on which the counts end.
pub const LAST_MONTH_DAY: (u32, u32) = (9, 20);
/// The date whose guidance the demo shows, in the height of autumn.
pub const DEMO_DATE: NaiveDate = truth::day(2026, 9, 9);

/// Why there is no demo.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// No season lies between the years.
    #[error("a demo needs a first year up to its last, in four digits: not {first} to {last}")]
    Years {
        /// first year
        first: i32,
        /// last year
        last: i32,
    },
    /// The truth holds a number that nothing can be drawn from.
    #[error("the demo cannot be drawn from its own numbers: {0}")]
    Draw(String),
    /// Something else is in the way.
    #[error("{} holds files that are no Wingtide demo; name an empty or a new folder", .0.display())]
    NotADemo(PathBuf),
    /// A file stands where the folder should be.
    #[error("{} is a file; name an empty or a new folder for the demo", .0.display())]
    NotAFolder(PathBuf),
    /// The disk refuses.
    #[error("cannot write {}: {source}", path.display())]
    Disk {
        /// file or folder
        path: PathBuf,
        /// what the system says
        source: std::io::Error,
    },
}

/// First and last day of a demo.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Span {
    /// 1 January of the year before.
    year_before: NaiveDate,
    first: NaiveDate,
    last: NaiveDate,
}

impl Span {
    fn of_years(first: i32, last: i32) -> Result<Self, DemoError> {
        // The CSV files write years in four digits, as ISO 8601 has them.
        let span = (first > 1000 && last <= 9999 && first <= last).then(|| {
            Some(Span {
                year_before: NaiveDate::from_yo_opt(first - 1, 1)?,
                first: NaiveDate::from_yo_opt(first, 1)?,
                last: NaiveDate::from_ymd_opt(last, LAST_MONTH_DAY.0, LAST_MONTH_DAY.1)?,
            })
        });
        span.flatten().ok_or(DemoError::Years { first, last })
    }
}

/// Draws the files of a demo from 1 January of the first year to [`LAST_MONTH_DAY`] of the
/// last. The same seed and years give the same bytes.
///
/// # Errors
/// [`DemoError::Years`] when the last year lies before the first or either has not four digits.
pub fn generate(seed: u64, first_year: i32, last_year: i32) -> Result<DemoFiles, DemoError> {
    let span = Span::of_years(first_year, last_year)?;
    let truth = truth();
    let weather = weather::Weather::draw(&truth, seed, span);
    let visits = visits::draw(&truth, seed, span)?;
    let seasons = seasons::Seasons::draw(&truth, seed, first_year, last_year, &weather)?;
    let records = counts::draw(&truth, seed, &visits, &seasons)?;
    Ok(files::render(
        &truth, seed, span, &weather, &visits, &records,
    ))
}
