//! Totals of the drawn counts against what the truth expects, computed another way: by
//! averaging over the seasons that could have been, instead of following those that were.

use super::*;
use chrono::Datelike;

/// Seeds over which totals are added up, so that a bias of a few per cent would show.
const SEEDS: u64 = 12;

/// Mean and variance of a species' total at a site on the given visits.
struct Expected {
    mean: f64,
    variance: f64,
}

/// Standard normal nodes with weights that add up to 1 (trapezium rule, which is all but exact
/// for a normal curve at steps of half its sd).
fn normal_nodes() -> impl Iterator<Item = (f64, f64)> {
    let nodes = (-9..=9).map(|i| f64::from(i) * 0.5);
    nodes.map(|z| (z, 0.5 * (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt()))
}

/// Sd of the mean anomaly of `n` days of AR(1) weather (Box, Jenkins & Reinsel, Time Series
/// Analysis, section 2.1.3: variance of a mean of correlated values).
fn anomaly_sd_c(w: &TrueWeather, n: i64) -> f64 {
    let variance = w.daily_sd_c.powi(2) / (1.0 - w.persistence.powi(2));
    let ties: f64 = (1..n)
        .map(|k| 2.0 * (1.0 - k as f64 / n as f64) * w.persistence.powi(k as i32))
        .sum();
    (variance / n as f64 * (1.0 + ties)).sqrt()
}

fn expected(drawn: &Drawn, species: usize, site: usize) -> Expected {
    let truth = &drawn.truth;
    let s = &truth.species[species];
    let level_variance = (truth.shared_level_sd.powi(2) + s.year_effect_sd.powi(2)).exp() - 1.0;
    let kept = |v: &&DrawnVisit| v.site == site && !truth.gap.covers(site, v.date);
    let visits: Vec<&DrawnVisit> = drawn.visits.iter().filter(kept).collect();
    let (mut mean, mut season_sd, mut scatter) = (0.0, 0.0, 0.0);
    for passage in &s.passages {
        let mut variance = 0.0;
        for year in FIRST_YEAR - 1..=LAST_YEAR {
            let visits = visits_of_season(&visits, passage, year);
            let (mut first, mut second) = (0.0, 0.0);
            for (shift, weight) in possible_shifts(truth, passage, year) {
                let birds = |v: &&DrawnVisit| birds_on(truth, passage, v, year, shift);
                let means: Vec<f64> = visits.iter().map(birds).collect();
                let total: f64 = means.iter().sum();
                let squares: f64 = means.iter().map(|m| m * m).sum();
                first += weight * total;
                second += weight * total * total;
                scatter += weight * (total + (1.0 + level_variance) * squares / s.dispersion);
            }
            mean += first;
            variance += (1.0 + level_variance) * second - first * first;
        }
        // Passages of a species share fortunes in part; added up as if wholly, the variance is
        // an upper bound.
        season_sd += f64::sqrt(variance);
    }
    Expected {
        mean,
        variance: season_sd.powi(2) + scatter,
    }
}

/// Visits of the calendar years that a season reaches into, from those in order of date.
fn visits_of_season<'a>(
    visits: &'a [&'a DrawnVisit],
    passage: &TruePassage,
    year: i32,
) -> &'a [&'a DrawnVisit] {
    let ends = match passage.shape {
        Shape::AllYear { .. } => year,
        _ => year + 1,
    };
    let from = visits.partition_point(|v| v.date.year() < year);
    let to = visits.partition_point(|v| v.date.year() <= ends);
    &visits[from..to]
}

/// Shifts that a season could have, with their weights.
fn possible_shifts(truth: &Truth, passage: &TruePassage, year: i32) -> Vec<(f64, f64)> {
    let decades = f64::from(year - truth.origin.year()) / 10.0;
    let mut middle = passage.trend_days_per_decade * decades;
    let mut variance = truth.shared_shift_sd_days.powi(2) + truth.own_shift_sd_days.powi(2);
    if let Some(w) = passage.warmth {
        middle += w.days_per_c * truth.weather.trend_c_per_decade * decades;
        variance += (w.days_per_c * anomaly_sd_c(&truth.weather, w.to - w.from + 1)).powi(2);
    }
    normal_nodes()
        .map(|(z, weight)| (middle + z * variance.sqrt(), weight))
        .collect()
}

fn birds_on(truth: &Truth, p: &TruePassage, v: &DrawnVisit, year: i32, shift: f64) -> f64 {
    let new_year = NaiveDate::from_ymd_opt(year, 1, 1).unwrap();
    let day = (v.date - new_year).num_days() as f64 + 1.0;
    let effort = f64::from(v.effort_min) / truth.standard_effort_min;
    p.birds[v.site] * effort * p.shape.density(day - shift)
}

fn total(drawn: &Drawn, species: usize, site: usize) -> f64 {
    let of = |r: &&Record| r.species == species && r.visit.site == site;
    drawn
        .records
        .iter()
        .filter(of)
        .map(|r| f64::from(r.birds))
        .sum()
}

#[test]
fn totals_lie_within_sampling_error_of_the_truth() {
    let all: Vec<Drawn> = (1..=SEEDS).map(drawn).collect();
    let mut z_squares = Vec::new();
    for (s, species) in all[0].truth.species.iter().enumerate() {
        for site in 0..SITES {
            let (mut mean, mut variance, mut got) = (0.0, 0.0, 0.0);
            for one in &all {
                let e = expected(one, s, site);
                mean += e.mean;
                variance += e.variance;
                got += total(one, s, site);
            }
            if mean == 0.0 {
                assert_eq!(got, 0.0, "{}", species.scientific);
                continue;
            }
            let z = (got - mean) / variance.sqrt();
            assert!(
                z.abs() < 4.0,
                "{} at {site}: {got} for {mean}, z {z}",
                species.scientific
            );
            z_squares.push(z * z);
        }
    }
    // If the errors were much smaller or larger than computed, the test above would prove
    // nothing. Mean of about 45 squares, many tied by common fortune and by the upper bound.
    let spread = z_squares.iter().sum::<f64>() / z_squares.len() as f64;
    assert!((0.3..2.0).contains(&spread), "{spread}");
}

#[test]
fn the_rarity_stays_rare_with_any_seed() {
    let rare = index_of(&truth(), "Sterna dougallii");
    for seed in (1..=10).chain([SEED]) {
        let one = drawn(seed);
        let birds: f64 = (0..SITES).map(|site| total(&one, rare, site)).sum();
        assert!((1.0..20.0).contains(&birds), "{birds} with seed {seed}");
    }
}

#[test]
fn the_winter_stay_stands_on_both_sides_of_every_new_year() {
    let one = drawn(SEED);
    let pipit = index_of(&one.truth, "Anthus petrosus");
    let found = |year: i32, months: [u32; 2]| {
        let hit = |r: &&Record| {
            r.species == pipit
                && r.visit.date.year() == year
                && months.contains(&r.visit.date.month())
        };
        one.records.iter().filter(hit).count()
    };
    for year in FIRST_YEAR..LAST_YEAR {
        assert!(found(year, [11, 12]) > 0, "no end of {year}");
        assert!(found(year + 1, [1, 2]) > 0, "no start of {}", year + 1);
        assert_eq!(found(year, [6, 7]), 0, "summer of {year}");
    }
    // The first winter came in a year without counts.
    assert!(found(FIRST_YEAR, [1, 2]) > 0);
}

#[test]
fn each_site_has_its_own_birds() {
    let one = drawn(SEED);
    let best = |scientific: &str| {
        let species = index_of(&one.truth, scientific);
        let totals = [LONG_BANK, TERN_LAGOON, DUNE_WOOD].map(|site| total(&one, species, site));
        (0..SITES)
            .max_by(|a, b| totals[*a].total_cmp(&totals[*b]))
            .unwrap()
    };
    assert_eq!(best("Calidris alpina"), LONG_BANK);
    assert_eq!(best("Sterna hirundo"), TERN_LAGOON);
    assert_eq!(best("Phylloscopus trochilus"), DUNE_WOOD);
}
