//! Short gaps in daily temperatures, filled on a straight line.

use super::TemperatureRows;
use crate::report::Note;
use chrono::{Days, NaiveDate};
use std::collections::BTreeMap;

/// Longest gap that is filled, days. Weather systems pass in about that time; common practice, no
/// source.
const LONGEST_FILLED_DAYS: i64 = 3;

/// A day with a temperature, and the place of its row.
type Known = (NaiveDate, usize);

/// Adds the days of short gaps, and tells of them and of the longer ones, which stay open.
pub(super) fn fill(rows: &mut TemperatureRows) -> Option<Note> {
    let mut series: BTreeMap<Option<u32>, Vec<Known>> = BTreeMap::new();
    for (place, (site, date)) in rows.site.iter().zip(&rows.date).enumerate() {
        series.entry(*site).or_default().push((*date, place));
    }
    let (mut short, mut long) = (Vec::new(), Vec::new());
    for days in series.values_mut() {
        days.sort();
        for pair in days.windows(2) {
            let missing = missing_days(pair[0].0, pair[1].0);
            match missing {
                1..=LONGEST_FILLED_DAYS => short.push((pair[0], pair[1])),
                n if n > LONGEST_FILLED_DAYS => long.push((pair[0].0, n)),
                _ => {}
            }
        }
    }
    let filled: i64 = short.iter().map(|(a, b)| missing_days(a.0, b.0)).sum();
    short.iter().for_each(|(a, b)| fill_one(rows, *a, *b));
    note(filled, &long)
}

fn missing_days(before: NaiveDate, after: NaiveDate) -> i64 {
    after.signed_duration_since(before).num_days() - 1
}

fn fill_one(rows: &mut TemperatureRows, before: Known, after: Known) {
    let missing = missing_days(before.0, after.0);
    for day in 1..=missing {
        let Some(date) = before.0.checked_add_days(Days::new(day.unsigned_abs())) else {
            continue;
        };
        let part = day as f64 / (missing + 1) as f64;
        let between = |a: f64, b: f64| a + part * (b - a);
        let mean = between(rows.mean_c[before.1], rows.mean_c[after.1]);
        let extremes = rows.extremes_c[before.1].zip(rows.extremes_c[after.1]);
        let extremes = extremes.map(|(a, b)| (between(a.0, b.0), between(a.1, b.1)));
        rows.line.push(rows.line[before.1]);
        rows.date.push(date);
        rows.site.push(rows.site[before.1]);
        rows.mean_c.push(mean);
        rows.extremes_c.push(extremes);
        rows.filled.push(true);
    }
}

fn note(filled: i64, long: &[(NaiveDate, i64)]) -> Option<Note> {
    if filled == 0 && long.is_empty() {
        return None;
    }
    let mut text = format!(
        "Days without a temperature in gaps of {LONGEST_FILLED_DAYS} or fewer, filled on a \
         straight line: {filled}."
    );
    if let Some((before, days)) = long.iter().min() {
        text += &format!(
            " Longer gaps, which stay open: {} (first: {days} days after {before}).",
            long.len()
        );
    }
    Some(Note {
        file: None,
        line: None,
        text,
    })
}
