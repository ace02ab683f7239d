//! How often the forecasts came true: every Monday of past seasons forecast from what was known
//! then, and what was found in the week.

use crate::words;
use chrono::Datelike;
use forecast::backtest::{Row, Setup, year};
use forecast::outlook::SiteCounts;
use forecast::series::{Count, CountSeries, Visit};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Seasons looked back over.
const LAST_YEARS: i32 = 5;
/// Fewer earlier years than this teach too little to be judged by.
const LEAST_EARLIER: usize = 3;
/// Fewer forecasts than this say nothing of how often they came true.
const LEAST_TIMES: usize = 10;
/// The chance whose record the digest quotes: neither nearly sure nor hardly worth saying.
const QUOTED: f64 = 0.7;

/// Forecasts of about the same chance.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Bin {
    /// Sum of the chances given.
    said: f64,
    /// Forecasts.
    pub times: usize,
    /// Those in which the species was found.
    pub found: usize,
}

/// A site's record: forecasts for a week's visits, in bins of chance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// First and last year looked back over.
    pub years: (i32, i32),
    /// From the rarest to the surest.
    pub bins: [Bin; EDGES.len()],
}

/// Where bins begin: tenths, and finer below one tenth, where most forecasts lie.
const EDGES: [f64; 12] = [0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];

fn bin_of(chance: f64) -> usize {
    EDGES
        .partition_point(|edge| *edge <= chance)
        .saturating_sub(1)
}

impl Record {
    /// From a site's counts; None where too few years lie before.
    pub fn of(visits: &[Visit], series: &BTreeMap<String, CountSeries>) -> Option<Self> {
        let mut years: Vec<i32> = visits.iter().map(Visit::year).collect();
        years.dedup();
        let judged: Vec<i32> = years.iter().copied().skip(LEAST_EARLIER).collect();
        let judged = &judged[judged.len().saturating_sub(LAST_YEARS as usize)..];
        let span = judged.first().copied().zip(judged.last().copied())?;
        let species: Vec<&CountSeries> = series.values().collect();
        let site = SiteCounts {
            visits,
            species: &species,
        };
        let by_year: Vec<[Bin; EDGES.len()]> =
            judged.par_iter().map(|y| judge(&site, *y)).collect();
        let mut bins = [Bin::default(); EDGES.len()];
        for (total, one) in by_year
            .iter()
            .flat_map(|b| b.iter().enumerate())
            .map(|(i, b)| (i, *b))
        {
            bins[total].said += one.said;
            bins[total].times += one.times;
            bins[total].found += one.found;
        }
        Some(Record { years: span, bins })
    }

    /// The record of chances like this one; None where they were given too seldom.
    pub fn like(&self, chance: f64) -> Option<Bin> {
        let bin = self.bins[bin_of(chance)];
        (bin.times >= LEAST_TIMES).then_some(bin)
    }

    /// One plain sentence for the digest's footer, about the bin nearest to seven times in ten.
    pub fn sentence(&self) -> Option<String> {
        let far = |b: &&Bin| (b.mean() - QUOTED).abs();
        let bin = self
            .bins
            .iter()
            .filter(|b| b.times >= LEAST_TIMES)
            .min_by(|a, b| far(a).total_cmp(&far(b)))?;
        Some(format!(
            "Of the last {} times that we said about {} for a week here ({} to {}), the bird was found in {}.",
            bin.times,
            words::chance(bin.mean()),
            self.years.0,
            self.years.1,
            bin.found
        ))
    }
}

impl Bin {
    /// Mean chance given.
    pub fn mean(&self) -> f64 {
        self.said / self.times.max(1) as f64
    }
}

fn judge(site: &SiteCounts, judged: i32) -> [Bin; EDGES.len()] {
    let mut bins = [Bin::default(); EDGES.len()];
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
        let bin = &mut bins[bin_of(forecast.ours)];
        bin.said += forecast.ours;
        bin.times += 1;
        bin.found += usize::from(forecast.found == Count::Present);
    };
    year(site, judged, &setup, &mut row, &mut || ());
    bins
}
