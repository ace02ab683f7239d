//! What was counted on each visit.

use super::DemoError;
use super::random::{Purpose, negative_binomial, stream};
use super::seasons::Seasons;
use super::truth::{Shape, Truth};
use super::visits::DrawnVisit;
use chrono::{Datelike, NaiveDate};
use forecast::calendar::days_in_year;

/// Birds of one species on one visit, one at least.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Record {
    pub visit: DrawnVisit,
    /// Index of the species.
    pub species: usize,
    pub birds: u32,
}

/// Draws the records of all visits in order of date, site and species. Those of the lost
/// half-year are drawn too and then left out, so that the gap moves no other count.
pub(super) fn draw(
    truth: &Truth,
    seed: u64,
    visits: &[DrawnVisit],
    seasons: &Seasons,
) -> Result<Vec<Record>, DemoError> {
    let mut records = Vec::new();
    for species in 0..truth.species.len() {
        for site in 0..truth.sites.len() {
            let mut rng = stream(seed, Purpose::Counts(site, species));
            for visit in visits.iter().filter(|v| v.site == site) {
                let mean = expected(truth, seasons, species, visit);
                if mean <= 0.0 {
                    continue;
                }
                let birds = negative_binomial(&mut rng, mean, truth.species[species].dispersion)?;
                if birds > 0 && !truth.gap.covers(site, visit.date) {
                    records.push(Record {
                        visit: *visit,
                        species,
                        birds,
                    });
                }
            }
        }
    }
    records.sort_by_key(|r| (r.visit.date, r.visit.site, r.species));
    Ok(records)
}

/// Birds expected on the visit in that season: this year's passages and the stays that began
/// last year.
pub(super) fn expected(
    truth: &Truth,
    seasons: &Seasons,
    species: usize,
    visit: &DrawnVisit,
) -> f64 {
    let year = visit.date.year();
    let mut birds = 0.0;
    for (p, passage) in truth.species[species].passages.iter().enumerate() {
        for season_year in [year - 1, year] {
            // A resident's year ends with the calendar year.
            if matches!(passage.shape, Shape::AllYear { .. }) && season_year != year {
                continue;
            }
            if let Some(season) = seasons.of(species, p, visit.site, season_year) {
                let day = day_of_season(visit.date, season_year) - season.shift_days;
                birds += passage.birds[visit.site] * season.level * passage.shape.density(day);
            }
        }
    }
    birds * f64::from(visit.effort_min) / truth.standard_effort_min
}

/// The date as a day of the season-year, whose 1 January is 1.
pub(super) fn day_of_season(date: NaiveDate, season_year: i32) -> f64 {
    let days_before: u32 = (season_year..date.year())
        .map(|year| u32::from(days_in_year(year)))
        .sum();
    f64::from(date.ordinal() + days_before)
}
