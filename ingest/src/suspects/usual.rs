//! More than ten times the usual.

use super::found::{Find, Found, Series};
use super::{Question, Suspect, days_near};
use chrono::{Datelike, NaiveDate};
use std::collections::HashMap;

/// How many times the usual count is asked about; common practice, no source.
const TIMES: u64 = 10;
/// Days before and after the date that make up its time of the year.
const NEAR_DAYS: u16 = 15;
/// Other counts that are needed to know what is usual.
const LEAST_COUNTS: usize = 10;

/// Counts above ten times the 95th percentile (nearest rank) of the other counts of that species
/// at that site within 15 days of the date's place in the year, over all years; 10 such counts at
/// least. Days on which none was found tell of no count.
pub(super) fn ten_times(found: &Found) -> Vec<Suspect> {
    found
        .series()
        .flat_map(|series| of_series(found, series))
        .collect()
}

fn of_series(found: &Found, series: &Series) -> Vec<Suspect> {
    let mut by_day = vec![Vec::new(); 367];
    let mut least = u64::MAX;
    for (find, birds) in counted(series) {
        by_day[find.date.ordinal() as usize].push(birds);
        least = least.min(birds);
    }
    // The usual by place in the year, once for all counts that share it.
    let mut known: HashMap<u32, Option<u64>> = HashMap::new();
    let mut suspects = Vec::new();
    // Few counts lie so far above the least of all: only they are looked at closely.
    for (find, birds) in counted(series).filter(|(_, birds)| *birds > TIMES * least) {
        let usual = known.entry(find.date.ordinal());
        let usual = *usual.or_insert_with(|| usual_of_others(&by_day, find.date));
        if let Some(usual) = usual.filter(|usual| birds > TIMES * usual) {
            let why = format!(
                "{birds} birds, where 19 of 20 counts within {NEAR_DAYS} days of that date are of {usual} or fewer"
            );
            suspects.push(found.suspect(Question::TenTimesUsual, series, find, why));
        }
    }
    suspects
}

fn counted(series: &Series) -> impl Iterator<Item = (&Find, u64)> {
    series.finds.iter().filter_map(|f| Some((f, f.birds?)))
}

/// What 95 % of all other counts near a date do not exceed, for any count that is higher.
fn usual_of_others(by_day: &[Vec<u64>], date: NaiveDate) -> Option<u64> {
    let near = days_near(date, NEAR_DAYS);
    percentile_95_of_others(near.flat_map(|day| by_day[day].iter().copied()).collect())
}

/// By nearest rank among all of them but one, whichever lies above it; None where those are too
/// few.
fn percentile_95_of_others(mut counts: Vec<u64>) -> Option<u64> {
    let others = counts.len().checked_sub(1).filter(|n| *n >= LEAST_COUNTS)?;
    let rank = (95 * others).div_ceil(100);
    Some(*counts.select_nth_unstable(rank - 1).1)
}

#[cfg(test)]
mod tests {
    use super::percentile_95_of_others;

    #[test]
    fn nearest_ranks() {
        assert_eq!(percentile_95_of_others((1..=10).collect()), None);
        assert_eq!(percentile_95_of_others((1..=11).collect()), Some(10));
        assert_eq!(percentile_95_of_others((1..=21).collect()), Some(19));
        assert_eq!(percentile_95_of_others((1..=101).rev().collect()), Some(95));
    }
}
