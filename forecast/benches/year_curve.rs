//! Time of one year-curve fit and of all species of two sites.

#![allow(missing_docs)] // criterion's macros make functions without docs

use chrono::NaiveDate;
use criterion::{Criterion, criterion_group, criterion_main};
use forecast::series::{Count, CountSeries, Visit};
use forecast::year_curve::{Params, fit};
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson, StandardNormal};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::hint::black_box;
use std::sync::Arc;

/// Visits of spring and autumn over 12 years, 1,954 in all.
fn visits(random: &mut Pcg64Mcg) -> Arc<[Visit]> {
    let mut dates = Vec::new();
    for year in 2000..2012 {
        for day in (65..157).chain(227..335) {
            dates.extend(NaiveDate::from_yo_opt(year, day));
        }
    }
    while dates.len() > 1954 {
        dates.remove(random.random_range(0..dates.len()));
    }
    dates
        .into_iter()
        .map(|date| Visit {
            date,
            log_effort_ratio: 0.0,
        })
        .collect()
}

/// A species with a spring and an autumn passage, about so many birds in all, theta 0.5.
fn series(visits: &Arc<[Visit]>, birds: f64, random: &mut Pcg64Mcg) -> CountSeries {
    let theta = 0.5;
    let levels: Vec<f64> = (0..12)
        .map(|_| {
            let z: f64 = StandardNormal.sample(random);
            (0.7 * z).exp()
        })
        .collect();
    let bell = |day: f64, at: f64, sd: f64| (-0.5 * ((day - at) / sd).powi(2)).exp() / sd;
    let counts = visits.iter().map(|v| {
        let day = f64::from(v.day().get());
        let shape = 0.3 * bell(day, 130.0, 8.0) + 0.7 * bell(day, 270.0, 12.0);
        let mean = birds / 12.0 * shape * 0.5 * levels[(v.year() - 2000) as usize];
        let gamma = Gamma::new(theta, mean.max(1e-9) / theta).map_or(0.0, |g| g.sample(random));
        Count::Exactly(Poisson::new(gamma.max(1e-12)).map_or(0, |p| p.sample(random) as u32))
    });
    CountSeries::new(visits.clone(), counts.collect()).expect("a series made for the purpose")
}

fn one_fit(c: &mut Criterion) {
    let mut random = Pcg64Mcg::seed_from_u64(1);
    let visits = visits(&mut random);
    let params = Params::default().check().expect("the defaults are sound");
    let mut group = c.benchmark_group("year curve, 1,954 visits, 12 years");
    group.sample_size(20);
    for birds in [50.0, 500.0, 3000.0] {
        let series = series(&visits, birds, &mut random);
        group.bench_function(format!("{} birds", series.birds()), |b| {
            b.iter(|| fit(black_box(&series), &params).map(|f| f.curve.edf));
        });
    }
    group.finish();
}

fn all_species(c: &mut Criterion) {
    let mut random = Pcg64Mcg::seed_from_u64(2);
    let visits = visits(&mut random);
    let params = Params::default().check().expect("the defaults are sound");
    let birds = |i: i32| 20.0 * (f64::from(i) / 18.0).exp();
    let all: Vec<CountSeries> = (0..100)
        .map(|i| series(&visits, birds(i), &mut random))
        .collect();
    let two = rayon::ThreadPoolBuilder::new()
        .num_threads(2)
        .build()
        .expect("two threads");
    let mut group = c.benchmark_group("year curves of two sites");
    group.sample_size(10);
    group.bench_function("100 species on two cores", |b| {
        b.iter(|| two.install(|| all.par_iter().filter(|s| fit(s, &params).is_ok()).count()));
    });
    group.finish();
}

/// Counts of every species with 20 birds or more at a site, from the files beside the repository.
#[expect(
    clippy::disallowed_methods,
    reason = "a bench reads what the library must not"
)]
fn real_counts() -> Option<Vec<CountSeries>> {
    let data = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../shared/data/night-migrants"
    );
    let read = |name: &str| std::fs::read_to_string(format!("{data}-{name}.csv")).ok();
    let rows = |text: &str| -> Vec<Vec<String>> {
        let fields = |l: &str| l.split(',').map(|f| f.trim().to_lowercase()).collect();
        text.lines().skip(1).map(fields).collect()
    };
    let (visited, birds) = (rows(&read("visits")?), rows(&read("records")?));
    let mut all = Vec::new();
    for site in ["chi", "mp"] {
        let here = visited.iter().filter(|r| r[1] == site);
        let dates: BTreeSet<NaiveDate> = here.filter_map(|r| r[0].parse().ok()).collect();
        let visit = |date: &NaiveDate| Visit {
            date: *date,
            log_effort_ratio: 0.0,
        };
        let visits: Arc<[Visit]> = dates.iter().map(visit).collect();
        let mut species: BTreeMap<(&str, &str), BTreeMap<NaiveDate, u32>> = BTreeMap::new();
        for row in birds.iter().filter(|r| r[1] == site) {
            let days = species.entry((&row[2], &row[3])).or_default();
            *days.entry(row[0].parse().ok()?).or_default() += 1;
        }
        for days in species.values().filter(|d| d.values().sum::<u32>() >= 20) {
            let count = |d: &NaiveDate| Count::Exactly(days.get(d).copied().unwrap_or(0));
            all.push(CountSeries::new(visits.clone(), dates.iter().map(count).collect()).ok()?);
        }
    }
    Some(all)
}

fn real_species(c: &mut Criterion) {
    let Some(all) = real_counts() else {
        println!("SKIPPED: ../shared/data is absent");
        return;
    };
    let params = Params::default().check().expect("the defaults are sound");
    let two = rayon::ThreadPoolBuilder::new()
        .num_threads(2)
        .build()
        .expect("two threads");
    let mut group = c.benchmark_group("year curves of the real counts of two sites");
    group.sample_size(10);
    group.bench_function(format!("{} species on two cores", all.len()), |b| {
        b.iter(|| two.install(|| all.par_iter().filter(|s| fit(s, &params).is_ok()).count()));
    });
    group.finish();
}

criterion_group!(benches, one_fit, all_species, real_species);
criterion_main!(benches);
