//! How dates are written: a reader's own choice, in force while what they get is put into words.

use serde::{Deserialize, Serialize};
use std::cell::Cell;

/// A way of writing dates.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum DateStyle {
    /// 3 May 2026.
    #[default]
    DayMonth,
    /// May 3, 2026.
    MonthDay,
    /// 2026-05-03 (ISO 8601).
    Iso,
}

impl DateStyle {
    /// All, the usual one first.
    pub const ALL: [DateStyle; 3] = [DateStyle::DayMonth, DateStyle::MonthDay, DateStyle::Iso];

    /// As forms and tables write it.
    pub fn name(self) -> &'static str {
        match self {
            DateStyle::DayMonth => "day-month",
            DateStyle::MonthDay => "month-day",
            DateStyle::Iso => "iso",
        }
    }

    /// A date in it, for those who choose.
    pub fn example(self) -> &'static str {
        match self {
            DateStyle::DayMonth => "3 May 2026",
            DateStyle::MonthDay => "May 3, 2026",
            DateStyle::Iso => "2026-05-03",
        }
    }
}

thread_local! {
    // words are made on one thread from beginning to end; a parameter would go through all of them
    static IN_FORCE: Cell<DateStyle> = const { Cell::new(DateStyle::DayMonth) };
}

/// Puts the former style back, even where the work panics.
struct Former(DateStyle);

impl Drop for Former {
    fn drop(&mut self) {
        IN_FORCE.set(self.0);
    }
}

/// Does the work, on this thread, with dates in that style.
pub fn with<T>(style: DateStyle, work: impl FnOnce() -> T) -> T {
    let _former = Former(IN_FORCE.replace(style));
    work()
}

/// The style in force.
pub fn style() -> DateStyle {
    IN_FORCE.get()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::{day_month, plain_spaces, span, weekday_date};
    use chrono::NaiveDate;

    fn at(style: DateStyle, days: (&str, &str)) -> String {
        let date = |text: &str| text.parse::<NaiveDate>().expect("a date");
        with(style, || plain_spaces(&span(date(days.0), date(days.1))))
    }

    #[test]
    fn spans_are_written_in_every_style() {
        let months = ("2026-08-31", "2026-09-06");
        let month = ("2026-08-24", "2026-08-30");
        let years = ("2026-12-28", "2027-01-03");
        assert_eq!(at(DateStyle::DayMonth, month), "24 to 30 August 2026");
        assert_eq!(at(DateStyle::MonthDay, month), "August 24 to 30, 2026");
        assert_eq!(at(DateStyle::Iso, month), "2026-08-24 to 2026-08-30");
        let said = at(DateStyle::MonthDay, months);
        assert_eq!(said, "August 31 to September 6, 2026");
        let said = at(DateStyle::MonthDay, years);
        assert_eq!(said, "December 28, 2026 to January 3, 2027");
    }

    #[test]
    fn a_style_is_in_force_for_its_work_alone() {
        let date: NaiveDate = "2026-05-03".parse().expect("a date");
        let other = with(DateStyle::Iso, || {
            let inner = with(DateStyle::MonthDay, || weekday_date(date));
            (plain_spaces(&inner), day_month(date))
        });
        assert_eq!(
            other,
            ("Sunday, May 3, 2026".to_owned(), "05-03".to_owned())
        );
        assert_eq!(plain_spaces(&day_month(date)), "3 May");
    }
}
