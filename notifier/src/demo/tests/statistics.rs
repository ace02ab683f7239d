//! Drift of effort, the gap, the weather and what it does to the birds.

use super::*;
use chrono::Datelike;
use std::collections::{BTreeMap, BTreeSet};

#[test]
fn effort_drifts_as_the_truth_says_at_every_site() {
    let one = drawn(SEED);
    for (index, site) in one.truth.sites.iter().enumerate() {
        let years = |v: &DrawnVisit| 10.0 * one.truth.decades(v.date);
        let points: Vec<(f64, f64)> = one
            .visits
            .iter()
            .filter(|v| v.site == index)
            .map(|v| (years(v), f64::from(v.effort_min).ln()))
            .collect();
        let (growth, error) = slope(&points);
        assert!(
            (growth - site.effort_growth).abs() < 4.0 * error,
            "{} {growth}",
            site.id
        );
        // No drift at all must be out of the question, or the demo shows nothing.
        assert!(growth > 10.0 * error, "{} {growth} {error}", site.id);
    }
}

#[test]
fn about_two_visits_a_week_in_season_and_one_in_winter_with_weeks_missing() {
    let one = drawn(SEED);
    let mut weeks: BTreeMap<(usize, NaiveDate), u32> = BTreeMap::new();
    for v in &one.visits {
        let monday = forecast::calendar::IsoWeek::of(v.date).monday();
        *weeks.entry((v.site, monday)).or_default() += 1;
    }
    let mean_of = |months: &[u32], weeks_a_year: f64| {
        let visits = weeks
            .iter()
            .filter(|((_, m), _)| months.contains(&m.month()));
        let years = f64::from(LAST_YEAR - FIRST_YEAR + 1) * SITES as f64;
        f64::from(visits.map(|(_, n)| n).sum::<u32>()) / years / weeks_a_year
    };
    // 30-day months hold 4.3 weeks; a tenth of the weeks is missed.
    assert!((0.8..1.1).contains(&mean_of(&[1, 2], 59.0 / 7.0)));
    assert!((1.6..2.1).contains(&mean_of(&[6, 7], 61.0 / 7.0)));
    let mondays = (one.visits.last().unwrap().date - one.visits[0].date).num_days() as usize / 7;
    let missing = SITES * mondays - weeks.len();
    assert!(missing > 100, "{missing} weeks without a visit");
}

#[test]
fn the_lost_half_year_has_visits_and_no_record() {
    let one = drawn(SEED);
    let gap = one.truth.gap;
    let in_gap = |v: &DrawnVisit| gap.covers(v.site, v.date);
    let visits = one.visits.iter().filter(|v| in_gap(v)).count();
    assert!(visits > 40, "{visits}");
    assert!(!one.records.iter().any(|r| in_gap(&r.visit)));
    // Whoever looks for half-years without any record finds this one and no other.
    let half = |d: NaiveDate| (d.year(), d.month() > 6);
    let of = |v: &DrawnVisit| (v.site, half(v.date));
    let recorded: BTreeSet<_> = one.records.iter().map(|r| of(&r.visit)).collect();
    let empty: BTreeSet<_> = one
        .visits
        .iter()
        .map(of)
        .filter(|h| !recorded.contains(h))
        .collect();
    assert_eq!(Vec::from_iter(empty), [(gap.site, (2008, true))]);
    // The same months a year before and after are full of birds.
    for year in [gap.first.year() - 1, gap.first.year() + 1] {
        let then = |r: &&Record| {
            let same = r.visit.date.with_year(gap.first.year());
            r.visit.date.year() == year && same.is_some_and(|d| gap.covers(r.visit.site, d))
        };
        assert!(one.records.iter().filter(then).count() > 200, "{year}");
    }
}

#[test]
fn temperature_has_a_season_a_memory_and_a_trend() {
    let one = drawn(SEED);
    let w = one.truth.weather;
    let days: Vec<(NaiveDate, f64)> = one.weather.days().collect();
    let anomaly: Vec<f64> = days
        .iter()
        .map(|(d, t)| t - w.normal_c(*d) - w.trend_c_per_decade * one.truth.decades(*d))
        .collect();
    let variance: f64 = anomaly.iter().map(|a| a * a).sum();
    let lagged: f64 = anomaly.windows(2).map(|p| p[0] * p[1]).sum();
    // Standard error of a lag-one correlation: sqrt((1 - r^2) / n).
    let error = ((1.0 - w.persistence.powi(2)) / anomaly.len() as f64).sqrt();
    assert!((lagged / variance - w.persistence).abs() < 4.0 * error);

    let mut years: BTreeMap<i32, (f64, f64)> = BTreeMap::new();
    for (d, t) in days.iter().filter(|(d, _)| d.year() < LAST_YEAR) {
        let year = years.entry(d.year()).or_default();
        *year = (year.0 + t, year.1 + 1.0);
    }
    let means: Vec<(f64, f64)> = years
        .iter()
        .map(|(y, (sum, n))| (f64::from(*y) / 10.0, sum / n))
        .collect();
    let (trend, error) = slope(&means);
    assert!(
        (trend - w.trend_c_per_decade).abs() < 4.0 * error,
        "{trend} {error}"
    );

    let mean_of = |month: u32| {
        let of: Vec<f64> = days
            .iter()
            .filter(|(d, _)| d.month() == month)
            .map(|(_, t)| *t)
            .collect();
        of.iter().sum::<f64>() / of.len() as f64
    };
    assert!(mean_of(7) - mean_of(1) > 1.8 * w.wave_c);
}

/// Mean day of the records of a species from 1 January to a day, by year.
fn mean_day(one: &Drawn, scientific: &str, site: usize, last_day: u32) -> BTreeMap<i32, f64> {
    let species = index_of(&one.truth, scientific);
    let mut sums: BTreeMap<i32, (f64, f64)> = BTreeMap::new();
    for r in one
        .records
        .iter()
        .filter(|r| r.species == species && r.visit.site == site)
    {
        if r.visit.date.ordinal() <= last_day {
            let sum = sums.entry(r.visit.date.year()).or_default();
            *sum = (
                sum.0 + f64::from(r.birds) * f64::from(r.visit.date.ordinal()),
                sum.1 + f64::from(r.birds),
            );
        }
    }
    sums.into_iter().map(|(y, (sum, n))| (y, sum / n)).collect()
}

#[test]
fn warm_springs_bring_the_linked_species_early_and_leave_the_others() {
    let one = drawn(SEED);
    let against = |scientific: &str, last_day: u32| {
        let days = mean_day(&one, scientific, DUNE_WOOD, last_day);
        let points: Vec<(f64, f64)> = days
            .iter()
            .map(|(y, day)| (one.weather.mean_anomaly_c(*y, 51, 90).unwrap(), *day))
            .collect();
        slope(&points)
    };
    // Days 170 and 175 lie between the spring and the autumn passage.
    let (linked, error) = against("Phylloscopus collybita", 170);
    assert!((linked + 2.5).abs() < 3.0 * error, "{linked} {error}");
    assert!(linked + 2.0 * error < 0.0, "{linked} {error}");
    let (other, error) = against("Anthus trivialis", 175);
    assert!(other.abs() < 3.0 * error, "{other} {error}");
}

#[test]
fn a_trend_in_timing_is_in_the_counts() {
    let days = mean_day(&drawn(SEED), "Phylloscopus trochilus", DUNE_WOOD, 175);
    let points: Vec<(f64, f64)> = days
        .iter()
        .map(|(y, d)| (f64::from(*y) / 10.0, *d))
        .collect();
    let (trend, error) = slope(&points);
    assert!((trend + 2.0).abs() < 3.0 * error, "{trend} {error}");
}
