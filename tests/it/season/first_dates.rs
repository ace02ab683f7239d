//! First dates and days late, held to the tables themselves.

use super::all;
use chrono::{Datelike, NaiveDate};
use forecast::calendar::MonthDay;
use forecast::series::CountSeries;
use harness::night_migrants;
use std::collections::BTreeMap;

/// First dates by year of one half of the year, from the table.
fn first_dates(series: &CountSeries, spring: bool) -> BTreeMap<i32, NaiveDate> {
    let mut dates = BTreeMap::new();
    for (visit, count) in series.known() {
        if (visit.date.month() <= 6) == spring && count.birds() > 0 {
            dates.entry(visit.year()).or_insert(visit.date);
        }
    }
    dates
}

#[test]
fn first_dates_and_their_places_are_those_of_the_table() {
    let Some(all) = all() else { return };
    let counted = night_migrants::read().expect("the tables are there");
    let mut compared = 0;
    for told in all.iter().filter(|t| !t.json["season"].is_null()) {
        for p in told.json["passages"].as_array().expect("passages") {
            let of = |c: &&night_migrants::Counted| {
                told.json["site"] == *c.site && p["species"] == *c.species
            };
            let series = &counted.iter().find(of).expect("counted").series;
            let year = p["year"].as_i64().expect("a year") as i32;
            let dates = first_dates(series, p["passage"] == "spring");
            let date = dates.get(&year).copied();
            assert_eq!(
                p["first"]["date"],
                serde_json::json!(date),
                "{} {p}",
                told.asked
            );
            let (Some(date), Some(earlier)) = (date, p["first"]["earlier"].as_u64()) else {
                continue;
            };
            let before = dates
                .iter()
                .filter(|(y, d)| **y != year && MonthDay::from(**d) < MonthDay::from(date));
            assert_eq!(before.count() as u64, earlier, "{} {p}", told.asked);
            compared += 1;
        }
    }
    assert!(compared > 80, "only {compared}");
}

/// Days late of whole seasons against a plainer measure: the median date of the birds, less the
/// mean of the other years' medians. Both scatter, so they agree only on the whole.
#[test]
fn days_late_go_with_the_median_dates_of_the_table() {
    let Some(all) = all() else { return };
    let counted = night_migrants::read().expect("the tables are there");
    let mut pairs: Vec<(f64, f64)> = Vec::new();
    for told in all.iter().filter(|t| !t.json["season"].is_null()) {
        for p in told.json["passages"].as_array().expect("passages") {
            let of = |c: &&night_migrants::Counted| {
                told.json["site"] == *c.site && p["species"] == *c.species
            };
            let series = &counted.iter().find(of).expect("counted").series;
            let year = p["year"].as_i64().expect("a year") as i32;
            let (Some(late), Some(plain)) = (
                p["days_late"]["middle"].as_f64(),
                median_late(series, p["passage"] == "spring", year),
            ) else {
                continue;
            };
            pairs.push((late, plain));
        }
    }
    let r = correlation(&pairs);
    println!("{} passages, correlation {r:.2}", pairs.len());
    assert!(pairs.len() >= 25 && r > 0.6, "{r} of {}", pairs.len());
}

/// None with fewer than 30 birds in the season, or in fewer than five others.
fn median_late(series: &CountSeries, spring: bool, year: i32) -> Option<f64> {
    let mut days: BTreeMap<i32, Vec<f64>> = BTreeMap::new();
    for (visit, count) in series
        .known()
        .filter(|(v, _)| (v.date.month() <= 6) == spring)
    {
        let birds = count.birds() as usize;
        let day = f64::from(visit.date.ordinal());
        days.entry(visit.year())
            .or_default()
            .extend(std::iter::repeat_n(day, birds));
    }
    days.retain(|_, birds| birds.len() >= 30);
    let median = |birds: &Vec<f64>| birds[birds.len() / 2];
    let own = median(days.get(&year)?);
    let others: Vec<f64> = days
        .iter()
        .filter(|(y, _)| **y != year)
        .map(|(_, b)| median(b))
        .collect();
    (others.len() >= 5).then(|| own - others.iter().sum::<f64>() / others.len() as f64)
}

/// Pearson's.
fn correlation(pairs: &[(f64, f64)]) -> f64 {
    let n = pairs.len() as f64;
    let mean = |of: &dyn Fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / n;
    let (x, y) = (mean(&|p| p.0), mean(&|p| p.1));
    let both = mean(&|p| (p.0 - x) * (p.1 - y));
    both / (mean(&|p| (p.0 - x).powi(2)) * mean(&|p| (p.1 - y).powi(2))).sqrt()
}
