//! `cargo bench --workspace --bench survey`: do planned dates find more? On the real counts, each
//! spring and autumn of 2006-2011 at both sites, 8 visits chosen among the dates that were really
//! visited, from what earlier years tell alone, against 8 dates spaced evenly (the mean of 20
//! phases) and against 8 dates at the long-term peaks. A target is a species with 20 birds or more
//! at the site before the year; what counts is how many of them were found on the 8 dates.

use chrono::{Datelike, NaiveDate};
use forecast::backtest::forecast_species;
use forecast::climatology::Climatology;
use forecast::outlook::{Constants, SiteCounts, train};
use forecast::plan::scenarios::probabilities;
use forecast::plan::{Candidate, Reach, Rules, choose};
use forecast::score::bootstrap::{Resampling, YearScore, difference};
use forecast::series::{Count, CountSeries};
use harness::night_migrants::{self, Counted};
use rayon::prelude::*;

const VISITS: usize = 8;
const PHASES: usize = 20;
const LEAST_BIRDS: u64 = 20;
const YEARS: std::ops::RangeInclusive<i32> = 2006..=2011;

/// Targets found in one season by each way of choosing.
struct Season {
    site: String,
    year: i32,
    spring: bool,
    targets: usize,
    expected: f64,
    at_most: f64,
    planned: f64,
    even: f64,
    peaks: f64,
}

fn main() {
    let Some(counted) = night_migrants::read() else {
        println!("the real counts are absent: nothing measured");
        return;
    };
    let mut work: Vec<(&str, i32)> = Vec::new();
    for site in ["MP", "CHI"] {
        work.extend(YEARS.map(|year| (site, year)));
    }
    let seasons: Vec<Season> = work
        .par_iter()
        .flat_map_iter(|(site, year)| of_year(&counted, site, *year))
        .collect();
    println!("site year season targets  planned (expected, at most)  even  peaks");
    for s in &seasons {
        println!(
            "{:<4} {} {} {:>7}  {:>7} ({:>8.1}, {:>7.1})  {:>4.1}  {:>5}",
            s.site,
            s.year,
            if s.spring { "spring" } else { "autumn" },
            s.targets,
            s.planned,
            s.expected,
            s.at_most,
            s.even,
            s.peaks
        );
    }
    for site in ["MP", "CHI", "both"] {
        let of_site = || seasons.iter().filter(|s| site == "both" || s.site == site);
        margin(site, "evenly spaced dates", of_site(), |s| s.even);
        margin(site, "dates at the peaks", of_site(), |s| s.peaks);
    }
}

/// Mean margin a season with its 95 % interval, whole years resampled.
fn margin<'a>(
    site: &str,
    against: &str,
    seasons: impl Iterator<Item = &'a Season>,
    other: impl Fn(&Season) -> f64,
) {
    let mut years: Vec<YearScore> = Vec::new();
    for s in seasons {
        match years.iter_mut().find(|y| y.year == s.year) {
            Some(y) => {
                (y.ours, y.reference) = (y.ours + s.planned, y.reference + other(s));
                y.scored += 1;
            }
            None => years.push(YearScore {
                year: s.year,
                ours: s.planned,
                reference: other(s),
                scored: 1,
            }),
        }
    }
    let resampling = Resampling {
        draws: 10_000,
        level: 0.95,
        seed: 1,
    };
    match difference(&years, &resampling) {
        Ok(m) => println!(
            "{site:<4} targets found beyond {against}: {:+.2} a season, 95 % interval {:+.2} to {:+.2}",
            m.estimate, m.low, m.high
        ),
        Err(error) => println!("{site} {against}: {error}"),
    }
}

fn of_year(counted: &[Counted], site: &str, year: i32) -> Vec<Season> {
    let series: Vec<&CountSeries> = counted
        .iter()
        .filter(|c| c.site == site)
        .map(|c| &c.series)
        .collect();
    let visits = series[0].visits().clone();
    let all = SiteCounts {
        visits: &visits,
        species: &series,
        temperature: None,
    };
    let live: Vec<&CountSeries> = forecast_species(&all, year, LEAST_BIRDS)
        .into_iter()
        .map(|i| series[i])
        .collect();
    let counts = SiteCounts {
        species: &live,
        ..all
    };
    let constants = Constants::default();
    let trained = train(&counts, year, None, constants);
    let one = |spring: bool| {
        let dates: Vec<NaiveDate> = visits
            .iter()
            .map(|v| v.date)
            .filter(|d| d.year() == year && (d.month() <= 6) == spring)
            .collect();
        let issued = trained.issue(&counts, *dates.first()?);
        let candidates: Vec<Candidate> = dates
            .iter()
            .map(|date| Candidate {
                date: *date,
                site: 0,
            })
            .collect();
        let row = |date: &NaiveDate| -> Vec<f64> {
            let of = |s: usize| issued.none_by_scenario(s, *date, 0.0);
            (0..live.len()).flat_map(of).collect()
        };
        let rows: Vec<Vec<f64>> = dates.iter().map(row).collect();
        let weights = vec![1.0; live.len()];
        let reach = Reach::new(&weights, &probabilities(&constants), rows).expect("chances");
        let rules = Rules::new(VISITS).expect("visits");
        let plan = choose(&reach, &candidates, &[], &rules);
        let planned: Vec<NaiveDate> = plan.places.iter().map(|p| dates[*p]).collect();
        let even: f64 = (0..PHASES)
            .map(|phase| found(&live, &evenly(&dates, phase)))
            .sum();
        Some(Season {
            site: site.to_owned(),
            year,
            spring,
            targets: live.len(),
            expected: plan.value,
            at_most: plan.at_most,
            planned: found(&live, &planned),
            even: even / PHASES as f64,
            peaks: found(&live, &at_peaks(&live, year, &dates)),
        })
    };
    [true, false].into_iter().filter_map(one).collect()
}

/// Targets found on the dates.
fn found(live: &[&CountSeries], dates: &[NaiveDate]) -> f64 {
    let seen = |s: &&&CountSeries| {
        let on = |v: &forecast::series::Visit, c: Count| {
            dates.contains(&v.date) && c.found() == Some(true)
        };
        s.known().any(|(v, c)| on(v, c))
    };
    live.iter().filter(seen).count() as f64
}

/// Every n-th visit of the season, from a phase on.
fn evenly(dates: &[NaiveDate], phase: usize) -> Vec<NaiveDate> {
    let step = dates.len() as f64 / VISITS as f64;
    let start = step * (phase as f64 + 0.5) / PHASES as f64;
    let place = |i: usize| (start + step * i as f64) as usize;
    (0..VISITS)
        .map(|i| dates[place(i).min(dates.len() - 1)])
        .collect()
}

/// The visits nearest to the days of the most birds, by the hand climatology of the years before:
/// of the target with the most birds in such a season first, until there are enough.
fn at_peaks(live: &[&CountSeries], year: i32, dates: &[NaiveDate]) -> Vec<NaiveDate> {
    let spring = dates[0].month() <= 6;
    let birds = |s: &CountSeries| -> u64 {
        let inside =
            |v: &forecast::series::Visit| v.year() < year && (v.date.month() <= 6) == spring;
        let known = s.known().filter(|(v, _)| inside(v));
        known.map(|(_, c)| u64::from(c.birds())).sum()
    };
    let mut ranked: Vec<&&CountSeries> = live.iter().collect();
    ranked.sort_by_key(|s| std::cmp::Reverse(birds(s)));
    let mut chosen: Vec<NaiveDate> = Vec::new();
    for series in ranked {
        let climate = Climatology::new(series, year, None);
        let mean = |d: &&NaiveDate| climate.at(forecast::calendar::DayOfYear::of(**d)).mean;
        let free = dates.iter().filter(|d| !chosen.contains(d));
        // the first of equal days, as a person would pick
        let peak = free.rev().max_by(|a, b| mean(a).total_cmp(&mean(b)));
        chosen.extend(peak);
        if chosen.len() == VISITS {
            break;
        }
    }
    chosen
}
