//! The rows are those that were asked for: none missing, none repeated, none besides.

use super::by_hand::Counts;
use super::predictions::{Says, read};
use super::{ABSENT, tested};
use chrono::{Datelike, Duration, NaiveDate, Weekday};
use harness::places;
use std::collections::{BTreeMap, BTreeSet};

/// Site, species, issue Monday, kind, target, weeks ahead.
type Key = (String, String, NaiveDate, &'static str, NaiveDate, u32);

#[test]
fn every_forecast_stands_once_and_nothing_else() {
    let (Some(tested), Some(counts)) = (tested(), Counts::read()) else {
        return places::skipped(ABSENT);
    };
    let mut wanted = BTreeSet::new();
    for (site, species) in counts.names() {
        wanted.extend((2006..=2011).flat_map(|year| of_year(&counts, site, species, year)));
    }
    let mut given: BTreeMap<Key, usize> = BTreeMap::new();
    for p in read(&tested.predictions) {
        let kind = match &p.says {
            Says::Week(_) => "week",
            Says::Day(mean, cdf) => {
                of_one_distribution(*mean, cdf);
                "day"
            }
        };
        *given
            .entry((p.site, p.species, p.issued, kind, p.target, p.horizon_weeks))
            .or_default() += 1;
    }
    // 16 species and more at either site, 30 Mondays, most with four weeks
    assert!(wanted.len() > 100_000, "{}", wanted.len());
    let repeated = given.iter().find(|(_, times)| **times > 1);
    assert_eq!(repeated, None);
    assert_eq!(
        wanted.iter().find(|k| !given.contains_key(*k)),
        None,
        "missing"
    );
    assert_eq!(
        given.keys().find(|k| !wanted.contains(*k)),
        None,
        "not asked for"
    );
    let told = tested.summary["sites"].as_array().expect("sites").iter();
    let told: u64 = told.filter_map(|s| s["forecasts"].as_u64()).sum();
    assert_eq!(told, wanted.len() as u64);
}

/// A mean is the sum of P(Y > k). Means are tabulated in steps of a tenth of their logarithm,
/// which puts a mixture's out by up to 0.1^2 / 8, an eighth of a percent.
fn of_one_distribution(mean: f64, cdf: &[f64]) {
    let sum: f64 = cdf.iter().map(|f| 1.0 - f).sum();
    let whole = cdf.len() <= 140;
    assert!(
        !whole || (sum / mean - 1.0).abs() < 0.01 + 1e-4 / mean,
        "mean {mean}, by cdf {sum}"
    );
}

fn of_year(counts: &Counts, site: &str, species: &str, year: i32) -> Vec<Key> {
    let counts = counts.of(site, species);
    let before: u32 = counts
        .iter()
        .filter(|(d, _)| d.year() < year)
        .map(|c| c.1)
        .sum();
    if before < 20 {
        return Vec::new();
    }
    let date = |m, d| NaiveDate::from_ymd_opt(year, m, d).expect("a date");
    let stretches = [(date(3, 1), date(6, 5)), (date(8, 15), date(11, 30))];
    let days = stretches
        .iter()
        .flat_map(|(a, b)| a.iter_days().take_while(move |d| d <= b));
    let mut keys = Vec::new();
    for monday in days.filter(|d| d.weekday() == Weekday::Mon) {
        let ahead = |d: NaiveDate| (d - monday).num_days();
        let visited = counts
            .iter()
            .map(|c| c.0)
            .filter(|d| (0..28).contains(&ahead(*d)));
        for day in visited {
            let weeks = ahead(day) / 7;
            let first = monday + Duration::weeks(weeks);
            for (kind, target) in [("day", day), ("week", first)] {
                keys.push((
                    site.to_owned(),
                    species.to_owned(),
                    monday,
                    kind,
                    target,
                    weeks as u32 + 1,
                ));
            }
        }
    }
    keys
}
