//! A season that goes over New Year and is under way when the year begins: what was seen of it so
//! far counts once, as this season's visits.

use chrono::{Datelike, NaiveDate};
use forecast::outlook::{Constants, SiteCounts, Trained, train};
use forecast::series::{Count, CountSeries, Visit};
use std::sync::Arc;

/// Every third day from October to February, from October 1995 until the date.
fn visits(until: NaiveDate) -> Vec<Visit> {
    let first = NaiveDate::from_ymd_opt(1995, 10, 1).unwrap();
    let watched = |d: &NaiveDate| d.month() >= 10 || d.month() <= 2;
    let days = first.iter_days().step_by(3).take_while(|d| *d < until);
    days.filter(watched)
        .map(|date| Visit {
            date,
            log_effort_ratio: 0.0,
        })
        .collect()
}

/// Ten birds about New Year; in the season of 2010 ten times as many.
fn number(date: NaiveDate) -> u32 {
    let season = date.year() - i32::from(date.month() < 7);
    let new_year = NaiveDate::from_ymd_opt(season + 1, 1, 1).unwrap();
    let z = (date - new_year).num_days() as f64 / 40.0;
    let times = if season == 2010 { 10.0 } else { 1.0 };
    // a little scatter, the same on every run
    let scatter = f64::from(date.ordinal() * 7 % 5) - 2.0;
    (times * (10.0 * (-0.5 * z * z).exp() + scatter).max(0.0)).round() as u32
}

fn series(visits: &[Visit]) -> CountSeries {
    let counts = visits.iter().map(|v| Count::Exactly(number(v.date)));
    CountSeries::new(Arc::from(visits), counts.collect()).unwrap()
}

#[test]
fn what_was_seen_before_new_year_counts_once() {
    let monday = NaiveDate::from_ymd_opt(2011, 1, 3).unwrap();
    let all = visits(monday);
    let summer: NaiveDate = NaiveDate::from_ymd_opt(2010, 7, 1).unwrap();
    let earlier: Vec<Visit> = all.iter().copied().filter(|v| v.date < summer).collect();
    let (whole, before) = (series(&all), series(&earlier));
    let site = SiteCounts {
        visits: &all,
        species: &[&whole],
        temperature: None,
    };
    let ignorant = SiteCounts {
        visits: &earlier,
        species: &[&before],
        temperature: None,
    };
    let trained = train(&site, 2011, None, Constants::default());
    let taught_before = train(&ignorant, 2011, None, Constants::default());
    let level = |trained: &Trained, known: &SiteCounts| {
        trained.issue(known, monday).season(monday).unwrap()
    };
    let ours = level(&trained, &site);
    assert_eq!(ours, level(&taught_before, &site));
    // and it does count: the season is a strong one
    let unseen = level(&taught_before, &ignorant);
    assert!(ours.0.mean > unseen.0.mean + 0.5, "{ours:?} {unseen:?}");
}
