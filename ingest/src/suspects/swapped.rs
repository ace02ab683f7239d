//! Day and month in each other's place.

use super::found::{Find, Found, Series};
use super::of_batch::OddBlock;
use super::{Question, Suspect, days_near, swapped_date};
use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Without a find within so many days in another year, a date is out of season.
const OUT_OF_SEASON_DAYS: u16 = 30;
/// Finds within so many days speak for the other reading.
const IN_SEASON_DAYS: u16 = 10;
/// Other years with such a find that are needed.
const LEAST_YEARS: usize = 3;
/// Dates further apart than this do not follow one another in a file.
const NEXT_DAYS: i64 = 31;
/// Blocks looked at for the one that follows: as many as one year's swapped dates may spoil.
const BLOCKS_AHEAD: usize = 12;

/// Rows with one date that stand together in a file.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Block {
    pub(super) date: NaiveDate,
    pub(super) line: u32,
    pub(super) rows: u64,
}

/// Finds without another within 30 days of their place in the year in any other year, where the
/// date with day and month swapped has one within 10 days in three other years or more.
pub(super) fn out_of_season(found: &Found) -> Vec<Suspect> {
    found
        .series()
        .flat_map(|series| of_series(found, series))
        .collect()
}

fn of_series(found: &Found, series: &Series) -> Vec<Suspect> {
    let mut by_day = vec![Vec::new(); 367];
    for find in &series.finds {
        by_day[find.date.ordinal() as usize].push(find.date.year());
    }
    let ask = |find: &Find| {
        let swapped = swapped_date(find.date)?;
        if other_years_near(&by_day, find.date, OUT_OF_SEASON_DAYS)
            .next()
            .is_some()
        {
            return None; // nearly always, and found out at once
        }
        let years: BTreeSet<i32> = other_years_near(&by_day, swapped, IN_SEASON_DAYS).collect();
        let years = years.len();
        (years >= LEAST_YEARS).then(|| {
            let why = format!(
                "found within {OUT_OF_SEASON_DAYS} days of that date in no other year, but near {} in {years}: day and month swapped?",
                swapped.format("%-d %B")
            );
            found.suspect(Question::SwappedDate, series, find, why)
        })
    };
    series.finds.iter().filter_map(ask).collect()
}

/// The years of finds near the date's place in the year, its own left out.
fn other_years_near(
    by_day: &[Vec<i32>],
    date: NaiveDate,
    within: u16,
) -> impl Iterator<Item = i32> {
    let years = days_near(date, within).flat_map(|day| by_day[day].iter().copied());
    years.filter(move |year| *year != date.year())
}

/// Rows between two others of dates within 31 days of one another, whose own date lies more than
/// 31 days from both, while day and month swapped it lies between the two or within 31 days of both.
pub(super) fn out_of_order(source: &str, odd: &[OddBlock]) -> Vec<Suspect> {
    let suspect = |OddBlock { block, swapped }: &OddBlock| Suspect {
        question: Question::SwappedDate,
        source: source.to_owned(),
        line: u64::from(block.line),
        rows: block.rows,
        site: None,
        species: None,
        date: block.date.to_string(),
        why: format!("{swapped} would fit between the rows around it: day and month swapped?"),
    };
    odd.iter().map(suspect).collect()
}

/// Blocks out of order that would be in it with day and month swapped, and that date.
pub(super) fn odd_blocks(blocks: &[Block]) -> Vec<OddBlock> {
    let mut odd = Vec::new();
    let mut before: Option<NaiveDate> = None;
    for (place, block) in blocks.iter().enumerate() {
        let ahead = blocks.iter().skip(place + 1).take(BLOCKS_AHEAD);
        let swapped = before.and_then(|b| in_order_if_swapped(b, block.date, ahead));
        match swapped {
            Some(swapped) => odd.push(OddBlock {
                block: *block,
                swapped,
            }),
            None => before = Some(block.date),
        }
    }
    odd
}

fn in_order_if_swapped<'b>(
    before: NaiveDate,
    date: NaiveDate,
    ahead: impl Iterator<Item = &'b Block>,
) -> Option<NaiveDate> {
    let near = |a: NaiveDate, b: NaiveDate| (a - b).num_days().abs() <= NEXT_DAYS;
    let swapped = swapped_date(date)?;
    if near(before, date) || !near(before, swapped) {
        return None;
    }
    let mut after = ahead.map(|b| b.date).filter(|d| near(before, *d));
    let after = after.next()?;
    (near(after, swapped) && !near(after, date)).then_some(swapped)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blocks(dates: &[&str]) -> Vec<Block> {
        let block = |(line, date): (u32, &&str)| Block {
            date: date.parse().unwrap(),
            line,
            rows: 1,
        };
        (2..).zip(dates).map(block).collect()
    }

    fn odd(dates: &[&str]) -> Vec<(u32, String)> {
        let odd = odd_blocks(&blocks(dates)).into_iter();
        odd.map(|odd| (odd.block.line, odd.swapped.to_string()))
            .collect()
    }

    #[test]
    fn dates_that_fit_when_swapped() {
        let one = ["2024-09-01", "2024-05-09", "2024-09-10"];
        assert_eq!(odd(&one), [(3, "2024-09-05".to_owned())]);
        let two = ["2024-09-01", "2024-03-09", "2024-05-09", "2024-09-10"];
        assert_eq!(odd(&two).len(), 2);
    }

    #[test]
    fn dates_in_order_and_dates_that_do_not_fit_either_way() {
        assert_eq!(odd(&["2024-09-01", "2024-09-05", "2024-09-10"]), []);
        assert_eq!(odd(&["2024-09-01", "2024-01-02", "2024-09-10"]), []);
        // another site's rows begin anew
        assert_eq!(odd(&["2024-12-30", "2000-01-03", "2000-01-05"]), []);
        assert_eq!(odd(&["2024-09-01", "2025-05-09", "2025-05-12"]), []);
    }

    #[test]
    fn a_ring_of_days() {
        let mut by_day = vec![Vec::new(); 367];
        by_day[364].push(2010);
        by_day[2].push(2011);
        let new_year = NaiveDate::from_ymd_opt(2020, 1, 1).unwrap();
        assert_eq!(other_years_near(&by_day, new_year, 10).count(), 2);
        assert_eq!(other_years_near(&by_day, new_year, 1).count(), 1);
    }
}
