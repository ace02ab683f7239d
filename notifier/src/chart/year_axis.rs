//! The days of the year along an axis: months, runs of days, windows cut at New Year.

use crate::words;
use chrono::{Datelike, NaiveDate};
use forecast::calendar::DAYS;

/// Where each month begins, its middle, its name; of a leap year, which has all days.
pub(crate) fn months() -> impl Iterator<Item = (f64, f64, &'static str)> {
    let first = |month| NaiveDate::from_ymd_opt(2024, month, 1);
    let begins = move |month| first(month).map_or(DAYS as f64 + 1.0, |d| f64::from(d.ordinal()));
    (1..=12).map(move |m| {
        let (from, to) = (begins(m) - 0.5, begins(m + 1) - 0.5);
        (from, f64::midpoint(from, to), words::month_short(m))
    })
}

/// Runs of days, 1 to 366, that are watched or not: first and last.
pub(crate) fn runs(watched: &[bool], wanted: bool) -> Vec<(f64, f64)> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for (i, _) in watched.iter().enumerate().filter(|(_, w)| **w == wanted) {
        let day = i as f64 + 1.0;
        match runs.last_mut() {
            Some((_, last)) if *last + 1.0 == day => *last = day,
            _ => runs.push((day, day)),
        }
    }
    runs
}

/// A position on the circle of the year as one from 1 on.
pub(crate) fn on_circle(day: f64) -> f64 {
    (day - 1.0).rem_euclid(DAYS as f64) + 1.0
}

/// A window cut at New Year; one as long as the year is the whole of it.
pub(crate) fn pieces(from: f64, to: f64) -> Vec<(f64, f64)> {
    let (first, last) = (0.5, DAYS as f64 + 0.5);
    if to - from >= DAYS as f64 {
        return vec![(first, last)];
    }
    let (from, to) = (on_circle(from), on_circle(to));
    match from <= to {
        true => vec![(from, to.min(last))],
        false => vec![(from.min(last), last), (first, to)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_over_new_year_has_two_pieces() {
        assert_eq!(pieces(250.0, 300.0), [(250.0, 300.0)]);
        assert_eq!(pieces(300.0, 400.0), [(300.0, 366.5), (0.5, 34.0)]);
        assert_eq!(pieces(-10.0, 20.0), [(356.0, 366.5), (0.5, 20.0)]);
        assert_eq!(pieces(-40.0, 330.0), [(0.5, 366.5)], "longer than a year");
    }

    #[test]
    fn runs_are_of_what_is_wanted() {
        let watched = [true, true, false, true];
        assert_eq!(runs(&watched, true), [(1.0, 2.0), (4.0, 4.0)]);
        assert_eq!(runs(&watched, false), [(3.0, 3.0)]);
    }
}
