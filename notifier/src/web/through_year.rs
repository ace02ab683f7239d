//! The weeks of a year, for tables that stand beside charts.

use crate::words;
use chrono::{Datelike, NaiveDate};
use forecast::calendar::{DayOfYear, IsoWeek, has_53_weeks};

/// A week of the year.
pub(crate) struct YearWeek {
    /// "Week 37".
    pub(crate) name: String,
    /// "7 to 13 September".
    pub(crate) days: String,
    /// Its Thursday, which is in the year that the week belongs to.
    pub(crate) middle: DayOfYear,
}

/// The ISO weeks of the year that holds a date.
pub(crate) fn weeks(date: NaiveDate) -> Vec<YearWeek> {
    let year = date.iso_week().year();
    let last = if has_53_weeks(year) { 53 } else { 52 };
    let thursday = |week| NaiveDate::from_isoywd_opt(year, week, chrono::Weekday::Thu);
    (1..=last).filter_map(thursday).map(of).collect()
}

fn of(thursday: NaiveDate) -> YearWeek {
    let days = IsoWeek::of(thursday).days();
    let (first, last) = (days[0], days[6]);
    YearWeek {
        name: format!("{}", thursday.iso_week().week()),
        days: match first.month() == last.month() {
            true => format!("{} to {}", first.day(), words::day_month(last)),
            false => format!("{} to {}", words::day_month(first), words::day_month(last)),
        },
        middle: DayOfYear::of(thursday),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 8601: 2026 has 53 weeks, the first from 29 December 2025.
    #[test]
    fn a_long_year_has_53_weeks() {
        let weeks = weeks(NaiveDate::from_ymd_opt(2026, 7, 1).unwrap());
        assert_eq!(weeks.len(), 53);
        let plain = |text: &str| words::plain_spaces(text);
        assert_eq!(plain(&weeks[0].days), "29 December to 4 January");
        assert_eq!(plain(&weeks[36].days), "7 to 13 September");
    }
}
