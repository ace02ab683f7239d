//! How often forecasts would have come true: every Monday of past seasons forecast from what was
//! known then, and what was found in the week.

use super::bins::{Bins, BySpecies, LEAST_TIMES};
use crate::words;
use chrono::Datelike;
use forecast::backtest::{Row, Setup, year};
use forecast::outlook::SiteCounts;
use forecast::series::{Count, CountSeries, Visit};
use forecast::temperature::daily::DailyTemperature;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Seasons looked back over.
const LAST_YEARS: i32 = 5;
/// Fewer earlier years than this teach too little to be judged by.
const LEAST_EARLIER: usize = 3;
/// A site's forecasts as they would have been issued over past seasons.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LookBack {
    /// First and last year looked back over.
    pub years: (i32, i32),
    /// Forecasts for the visits that a week had.
    pub bins: Bins,
    /// The same of each species by itself; empty where an older version looked back.
    #[serde(default)]
    pub by_species: BySpecies,
}

impl LookBack {
    /// From a site's counts; None where too few years lie before.
    pub fn of(
        visits: &[Visit],
        series: &BTreeMap<String, CountSeries>,
        temperature: Option<&DailyTemperature>,
    ) -> Option<Self> {
        let mut years: Vec<i32> = visits.iter().map(Visit::year).collect();
        years.dedup();
        let judged: Vec<i32> = years.iter().copied().skip(LEAST_EARLIER).collect();
        let judged = &judged[judged.len().saturating_sub(LAST_YEARS as usize)..];
        let span = judged.first().copied().zip(judged.last().copied())?;
        let species: Vec<&CountSeries> = series.values().collect();
        let site = SiteCounts {
            visits,
            species: &species,
            temperature,
        };
        let by_year: Vec<Vec<Bins>> = judged.par_iter().map(|y| judge(&site, *y)).collect();
        let (mut bins, mut by_species) = (Bins::default(), BySpecies::new());
        for (name, own) in by_year.iter().flat_map(|year| series.keys().zip(year)) {
            bins.join(own);
            by_species.entry(name.clone()).or_default().join(own);
        }
        by_species.retain(|_, own| own.times() > 0);
        Some(LookBack {
            years: span,
            bins,
            by_species,
        })
    }

    /// Its part of the digest's footer, where forecasts were many enough.
    pub(super) fn sentence(&self) -> Option<String> {
        let bin = self.bins.quoted(LEAST_TIMES, 0.0..1.0)?;
        let (first, last) = self.years;
        Some(format!(
            "Looking back over {first} to {last} with what was known on each Monday: of {} that \
             we would have said {} for a week's visits here, the bird was found in {}.",
            words::count_of(bin.times, "time", "times"),
            words::about(bin.mean()),
            bin.found
        ))
    }
}

/// Of each species.
fn judge(site: &SiteCounts, judged: i32) -> Vec<Bins> {
    let mut bins = vec![Bins::default(); site.species.len()];
    let setup = Setup {
        weeks: 1,
        issued: vec![((1, 1), (12, 31))],
        ..Setup::default()
    };
    let mut row = |row: Row| {
        let Row::Week(forecast) = row else { return };
        if forecast.found == Count::Unknown || forecast.target.year() != judged {
            return;
        }
        bins[forecast.species].add(forecast.ours, forecast.found == Count::Present);
    };
    year(site, judged, &setup, &mut row, &mut || ());
    bins
}
