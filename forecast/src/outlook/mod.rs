//! The weeks ahead: curves of earlier years, levels that drift, and what this season's visits
//! have shown so far, turned into chances and counts for each coming night.
//!
//! [`train`] learns from the years before a given one; [`Trained::issue`] adds this season's
//! visits before a date and forecasts from there. Nothing after the date is ever looked at.

mod issue;
pub mod seasons;
mod train;
mod warmth;

pub use issue::{Issued, Night};
pub use train::{Trained, TrainedSeason, train};
pub use warmth::{Foretold, Searched};

use crate::series::{CountSeries, Visit};
use crate::temperature::daily::DailyTemperature;

/// Counts of all species of a site.
#[derive(Debug, Clone, Copy)]
pub struct SiteCounts<'a> {
    /// The site's visits in date order.
    pub visits: &'a [Visit],
    /// One series a species, on these visits.
    pub species: &'a [&'a CountSeries],
    /// Its daily temperatures, where any are known.
    pub temperature: Option<&'a DailyTemperature>,
}

/// Constants of the forecast, with the years that they were chosen on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Constants {
    /// Birds in a season of the training years below which a species has no curve there and the
    /// climatology of the last five years stands in.
    pub least_birds: u64,
    /// Part of a week's shared factor that carries over to the next.
    pub week_carry: f64,
    /// Standard deviation of what each week adds to the shared factor, log scale.
    pub week_sd: f64,
    /// Standard deviation of a night shared by the species, log scale.
    pub night_sd: f64,
    /// Standard deviation of the shared shift, days.
    pub shift_sd: f64,
    /// Standard deviation of a species' own shift, days.
    pub own_shift_sd: f64,
    /// Least standard deviation of a species' own level, log scale.
    pub least_own_level_sd: f64,
    /// Part of the weekly factor's variance that is taken off the mean.
    pub lift: f64,
    /// Weight of the last five years' climatology in the pool.
    pub pool: f64,
}

impl Default for Constants {
    /// week_carry and pool are those of the published trial's design; the others gave the best
    /// CRPS and Brier scores on 2002-2005 of the night-migrant counts (two sites), each training
    /// on the years before. No later year was used to choose them.
    fn default() -> Self {
        Constants {
            least_birds: 5,
            week_carry: 0.8,
            week_sd: 0.25,
            night_sd: 0.6,
            shift_sd: 1.0,
            own_shift_sd: 2.5,
            least_own_level_sd: 0.4,
            lift: 0.25,
            pool: 0.25,
        }
    }
}
