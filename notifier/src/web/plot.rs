//! A picture of the year for pages: where days and heights stand. Drawn as SVG by templates, so
//! that the page's style sheet gives it its inks, by day and by night.

use crate::words;
use chrono::{Datelike, NaiveDate};
use forecast::calendar::{DAYS, DayOfYear};
use serde::Serialize;

/// Width of a picture, so narrow that its letters can be read on a phone.
pub(super) const WIDTH: f64 = 480.0;
/// Left and right of the plot.
pub(super) const LEFT: f64 = 40.0;
pub(super) const RIGHT: f64 = 10.0;

/// A month on the axis: where it begins, its middle, its name.
#[derive(Debug, Serialize)]
pub(super) struct Month {
    begins: f64,
    middle: f64,
    name: &'static str,
}

/// Where the middle of a day stands, with a tenth of a pixel.
pub(super) fn across(day: f64) -> f64 {
    tenth(LEFT + (day - 0.5) / DAYS as f64 * (WIDTH - LEFT - RIGHT))
}

/// To a tenth, so that pages stay small.
pub(super) fn tenth(x: f64) -> f64 {
    (x * 10.0).round() / 10.0
}

/// The months of a leap year, which has all days.
pub(super) fn months() -> Vec<Month> {
    let first = |month| NaiveDate::from_ymd_opt(2024, month, 1);
    let begins = |month: u32| first(month).map_or(DAYS as f64 + 1.0, |d| f64::from(d.ordinal()));
    let month = |m: u32| {
        let (from, to) = (begins(m), begins(m + 1));
        Month {
            begins: across(from - 0.5),
            middle: across((from + to) / 2.0 - 0.5),
            name: words::month_short(m),
        }
    };
    (1..=12).map(month).collect()
}

/// Runs of days of which something holds, first and last.
pub(super) fn runs(holds: impl Fn(DayOfYear) -> bool) -> Vec<(u16, u16)> {
    let days = (1..=DAYS as u16).filter_map(|d| DayOfYear::try_from(d).ok());
    let mut runs: Vec<(u16, u16)> = Vec::new();
    for day in days.filter(|d| holds(*d)) {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == day.get() => *last = day.get(),
            _ => runs.push((day.get(), day.get())),
        }
    }
    runs
}

/// The next number of the form 1, 2 or 5 times a power of ten that is not below.
pub(super) fn round_up(value: f64) -> f64 {
    let power = 10f64.powf(value.max(1e-6).log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|step| step * power);
    // a hair below counts as it
    let fit = steps.into_iter().find(|step| *step >= value * (1.0 - 1e-9));
    fit.unwrap_or(10.0 * power)
}

/// "M x,y x,y ...": a path along points.
pub(super) fn path(points: impl Iterator<Item = (f64, f64)>) -> String {
    let points: Vec<String> = points.map(|(x, y)| format!("{x},{y}")).collect();
    format!("M{}", points.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_end_on_round_numbers() {
        for (value, top) in [
            (0.3, 0.5),
            (1.0, 1.0),
            (7.2, 10.0),
            (130.0, 200.0),
            (0.05, 0.05),
        ] {
            assert!((round_up(value) / top - 1.0).abs() < 1e-9, "{value}");
        }
    }

    #[test]
    fn months_fill_the_year() {
        let months = months();
        assert_eq!((months.len(), months[11].name), (12, "Dec"));
        assert!((months[0].begins - LEFT).abs() < 0.1);
        assert!(
            months
                .windows(2)
                .all(|m| m[0].begins < m[0].middle && m[0].middle < m[1].begins)
        );
    }
}
