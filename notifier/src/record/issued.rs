//! How often forecasts came true that were issued: each held, once its week is over, to the
//! visits that were made in it.

use super::bins::{Bins, BySpecies};
use crate::guidance::SiteView;
use crate::words;
use chrono::{Duration, NaiveDate};
use forecast::series::Count;

/// Fewer forecasts of about the chance that is quoted are not quoted: of 20 forecasts of 70 %, so
/// many come true by chance alone as to be 10 percentage points off (binomial standard error).
pub const ENOUGH: usize = 20;

/// Forecasts as issued, and what came of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Issued {
    /// Mondays of the first and last week scored.
    pub weeks: (NaiveDate, NaiveDate),
    /// Forecasts for the visits that the weeks had.
    pub bins: Bins,
    /// The same of each species by itself.
    pub by_species: BySpecies,
}

impl Issued {
    /// Of a site, over the weeks that ended before `monday`; None where none can be scored.
    ///
    /// A week without a fully reported visit gives nothing, since no one knows then what was not
    /// found. The chance that counts is that for as many standard visits as there were: it was
    /// kept when the forecast was issued, while the lengths of visits yet to come were unknown.
    pub fn of(view: &SiteView, monday: NaiveDate) -> Option<Self> {
        let (mut bins, mut by_species) = (Bins::default(), BySpecies::new());
        let mut weeks: Option<(NaiveDate, NaiveDate)> = None;
        let over = |m: NaiveDate| m + Duration::weeks(1) <= monday;
        for forecast in view.issued.iter().filter(|f| over(f.monday)) {
            let visits = told(view, forecast.monday);
            let chance = visits.len().checked_sub(1);
            let Some(chance) = chance.and_then(|i| forecast.by_visits.get(i)) else {
                continue;
            };
            let series = view.series_of(&forecast.species);
            let found = visits
                .iter()
                .any(|v| series.count(*v).found() == Some(true));
            bins.add(*chance, found);
            let own = by_species.entry(forecast.species.clone()).or_default();
            own.add(*chance, found);
            let first = weeks.map_or(forecast.monday, |(first, _)| first);
            weeks = Some((first.min(forecast.monday), forecast.monday));
        }
        weeks.map(|weeks| Issued {
            weeks,
            bins,
            by_species,
        })
    }

    /// Its part of the digest's footer, where forecasts were many enough.
    pub(super) fn sentence(&self) -> Option<String> {
        let bin = self.bins.quoted(ENOUGH, 0.5..0.9)?;
        Some(format!(
            "Of the last {} that we said {} for a week's visits here (forecasts issued before \
             their weeks, since that of {}), the bird was found in {}.",
            words::count_of(bin.times, "time", "times"),
            words::about(bin.mean()),
            words::day_month_year(self.weeks.0),
            bin.found
        ))
    }
}

/// Places of the week's fully reported visits.
fn told(view: &SiteView, monday: NaiveDate) -> Vec<usize> {
    let place = |date| view.visits.partition_point(|v| v.date < date);
    (place(monday)..place(monday + Duration::weeks(1)))
        .filter(|v| view.unrecorded.count(*v) == Count::Exactly(0))
        .collect()
}
