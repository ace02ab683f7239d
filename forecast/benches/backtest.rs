//! How long a forecast takes: the Monday update with four weeks ahead for a site of 100 species,
//! one passage fitted again with its smoothing, and how training grows with visits and species.
//!
//! `cargo bench -p forecast --bench backtest`

#![allow(missing_docs)] // criterion's macros make functions without docs

use chrono::{Datelike, NaiveDate};
use criterion::{BatchSize, BenchmarkId, Criterion};
use forecast::backtest::{Setup, mondays};
use forecast::outlook::{Constants, SiteCounts, train};
use forecast::passage::curve::{self, Sighting};
use forecast::series::{Count, CountSeries, Visit};
use rand::SeedableRng;
use rand_distr::{Distribution, Gamma, Normal, Poisson};
use rand_pcg::Pcg64Mcg;
use std::hint::black_box;
use std::sync::Arc;

/// The year that is forecast; counts begin twelve years before.
const YEAR: i32 = 2020;

/// An invented site: its visits, and one series a species.
struct Site {
    visits: Arc<[Visit]>,
    species: Vec<CountSeries>,
}

impl Site {
    /// Visits on every `every`th day of March to May and of mid-August to November.
    fn new(species: usize, every: usize) -> Self {
        let mut random = Pcg64Mcg::seed_from_u64(11);
        let days = (YEAR - 12..=YEAR)
            .flat_map(|year| (61..=151).chain(227..=334).map(move |d| (year, d)))
            .step_by(every)
            .filter_map(|(year, day)| NaiveDate::from_yo_opt(year, day));
        let visits: Arc<[Visit]> = days
            .map(|date| Visit {
                date,
                log_effort_ratio: 0.0,
            })
            .collect();
        let species = (0..species)
            .map(|i| species_counts(&visits, i, &mut random))
            .collect();
        Site { visits, species }
    }

    fn with<T>(&self, work: impl FnOnce(&SiteCounts) -> T) -> T {
        let species: Vec<&CountSeries> = self.species.iter().collect();
        work(&SiteCounts {
            visits: &self.visits,
            species: &species,
            temperature: None,
        })
    }
}

/// A spring and an autumn passage; species differ in numbers, dates and spread. Negative
/// binomial counts as a Poisson whose mean is gamma.
fn species_counts(visits: &Arc<[Visit]>, i: usize, random: &mut Pcg64Mcg) -> CountSeries {
    let level = Normal::new(0.0, 0.4).expect("a spread");
    let gamma = Gamma::new(0.5, 2.0).expect("a shape");
    let peaks = [95.0 + (i * 7 % 50) as f64, 245.0 + (i * 13 % 75) as f64];
    let highest = 0.1 * 1.05f64.powi(i as i32 % 80);
    let years: Vec<f64> = (0..=12).map(|_| level.sample(random)).collect();
    let counts = visits.iter().map(|v| {
        let day = f64::from(v.day().get());
        let bell = |peak: f64| (-0.5 * ((day - peak) / 11.0).powi(2)).exp();
        let year = years[(v.year() - (YEAR - 12)) as usize];
        let mean = highest * (bell(peaks[0]) + bell(peaks[1])) * year.exp();
        let tonight = mean * gamma.sample(random) + 1e-12;
        let birds: f64 = Poisson::new(tonight).expect("a mean").sample(random);
        Count::Exactly(birds as u32)
    });
    let counts = counts.collect();
    CountSeries::new(visits.clone(), counts).expect("visits in order")
}

fn monday_of_100_species(c: &mut Criterion) {
    let site = Site::new(100, 1);
    let monday = mondays(YEAR, &Setup::default().issued)[20];
    site.with(|counts| {
        let trained = train(counts, YEAR, None, Constants::default());
        let within = |week: i64| -> Vec<(NaiveDate, f64)> {
            let days = (0..7).map(|d| monday + chrono::Duration::days(7 * week + d));
            days.map(|d| (d, 0.0)).collect()
        };
        c.bench_function("update of 100 species on a Monday", |b| {
            b.iter(|| black_box(trained.issue(counts, monday)));
        });
        c.bench_function("update and four weeks ahead of 100 species", |b| {
            b.iter(|| {
                let issued = trained.issue(counts, monday);
                for week in (0..4).map(within) {
                    for species in 0..100 {
                        black_box(issued.week(species, &week));
                        black_box(issued.nights(species, &week));
                    }
                }
            });
        });
    });
}

fn passage_refit(c: &mut Criterion) {
    let site = Site::new(60, 1);
    // spring, from 1 March
    let sightings: Vec<Sighting> = site.species[59]
        .known()
        .filter(|(v, _)| v.date.month() < 7)
        .map(|(v, count)| Sighting {
            offset: v.day().index() - 60,
            season: (v.year() - (YEAR - 12)) as usize,
            log_effort: v.log_effort_ratio,
            count,
        })
        .collect();
    c.bench_function("one passage with its smoothing, 13 seasons", |b| {
        b.iter_batched(
            || vec![0.0; 13],
            |shifts| curve::fit(92, &shifts, black_box(&sightings)).expect("a curve"),
            BatchSize::SmallInput,
        );
    });
}

fn training(c: &mut Criterion) {
    let mut group = c.benchmark_group("training on twelve years");
    group.sample_size(10);
    for (species, every) in [(10, 1), (20, 1), (40, 1), (20, 2), (20, 4)] {
        let site = Site::new(species, every);
        let visits = site.visits.len();
        let id = BenchmarkId::from_parameter(format!("{species} species, {visits} visits"));
        group.bench_function(id, |b| {
            site.with(|s| b.iter(|| black_box(train(s, YEAR, None, Constants::default()))));
        });
    }
    group.finish();
}

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    monday_of_100_species(&mut criterion);
    passage_refit(&mut criterion);
    training(&mut criterion);
    criterion.final_summary();
}
