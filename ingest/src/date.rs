//! Written dates, read in the order that the source states.

mod month;

use crate::moment::{self, TimeOfDay};
use crate::totals::TOTALS;
use chrono::{Datelike, NaiveDate};
use config::settings::DateOrder;
pub(crate) use month::month;
use month::{Named, named};

/// No count is taken to be older: a year before this is a slip of the pen.
const FIRST_YEAR: i32 = 1700;

pub(crate) const ORDERS: [DateOrder; 3] = [
    DateOrder::YearMonthDay,
    DateOrder::DayMonthYear,
    DateOrder::MonthDayYear,
];

/// The order as `wingtide.toml` writes it.
pub(crate) fn order_name(order: DateOrder) -> &'static str {
    match order {
        DateOrder::YearMonthDay => "year-month-day",
        DateOrder::DayMonthYear => "day-month-year",
        DateOrder::MonthDayYear => "month-day-year",
    }
}

/// A date as read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ReadDate {
    /// As written.
    pub(crate) date: NaiveDate,
    /// The time of day behind it, where one stands there.
    pub(crate) time: Option<TimeOfDay>,
}

/// Why a cell holds no usable date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub(crate) enum DateProblem {
    #[error("empty; every row needs its date")]
    Empty,
    #[error("a year of two digits could mean two centuries; write four")]
    TwoDigitYear,
    #[error("a spreadsheet's day number; format the column as a date and save again")]
    DayNumber,
    #[error("no day of the calendar in the order {0}")]
    NoSuchDay(&'static str),
    #[error("no day of the calendar")]
    NoSuchNamedDay,
    #[error("no date in the order {0}; write it in that order")]
    OtherOrder(&'static str),
    #[error("before the year {FIRST_YEAR}")]
    TooEarly,
    #[error("in the future")]
    Future,
    #[error("{TOTALS}")]
    Totals,
    #[error(
        "not a date in the order {0}; write three numbers with -, / or . between them, or the \
         month as an English word"
    )]
    Unreadable(&'static str),
}

/// Reads a tidied cell. `latest` is the last day that can have been counted.
pub(crate) fn read(
    cell: &str,
    order: DateOrder,
    latest: NaiveDate,
) -> Result<ReadDate, DateProblem> {
    let unreadable = DateProblem::Unreadable(order_name(order));
    let (written, time) = written(cell).ok_or_else(|| match cell {
        "" => DateProblem::Empty,
        _ if is_day_number(cell) => DateProblem::DayNumber,
        _ => unreadable,
    })?;
    let date = match &written {
        Written::Numbers(parts) => in_order(parts, order).ok_or_else(|| why_not(parts, order)),
        Written::Named(named) => named.read(),
    }?;
    match date {
        d if d.year() < FIRST_YEAR => Err(DateProblem::TooEarly),
        // In another zone it may be a day earlier: that is looked at where its site is known.
        d if d > latest && time.is_none() => Err(DateProblem::Future),
        date => Ok(ReadDate { date, time }),
    }
}

/// Five digits, and the part of the day behind a point.
fn is_day_number(cell: &str) -> bool {
    let (days, part) = cell.split_once('.').unwrap_or((cell, ""));
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    days.len() == 5 && digits(days) && digits(part)
}

/// Begins the cell with four digits and two more numbers, as ISO 8601 does? No other order does.
pub(crate) fn is_iso(cell: &str) -> bool {
    fitting(cell) == [DateOrder::YearMonthDay]
}

/// Is the cell another day in one of the orders than in another?
pub(crate) fn differ(cell: &str, orders: &[DateOrder]) -> bool {
    let Some((Written::Numbers(parts), _)) = written(cell) else {
        return false; // a month in words is the same day in any order
    };
    let mut days = orders.iter().filter_map(|o| in_order(&parts, *o));
    let first = days.next();
    days.any(|day| Some(day) != first)
}

/// The orders in which the cell is a date.
pub(crate) fn fitting(cell: &str) -> Vec<DateOrder> {
    match written(cell) {
        None => Vec::new(),
        Some((Written::Named(_), _)) => ORDERS.to_vec(),
        Some((Written::Numbers(parts), _)) => {
            let fits = |order: &DateOrder| in_order(&parts, *order).is_some();
            ORDERS.into_iter().filter(fits).collect()
        }
    }
}

/// A date as it stands in a cell.
enum Written<'a> {
    Numbers(Parts<'a>),
    Named(Named),
}

/// The date and the time of day that follows.
fn written(cell: &str) -> Option<(Written<'_>, Option<TimeOfDay>)> {
    let numbers = parts(cell).map(|(parts, time)| (Written::Numbers(parts), time));
    numbers.or_else(|| Some((Written::Named(named(cell)?), None)))
}

type Parts<'a> = [&'a str; 3];

/// Three runs of digits with one kind of separator, and the time of day that follows.
fn parts(cell: &str) -> Option<(Parts<'_>, Option<TimeOfDay>)> {
    let end = cell.find(['T', 't', ' ']).unwrap_or(cell.len());
    let (date, time) = cell.split_at(end);
    let time = match time.get(1..) {
        None => None,
        Some(text) => Some(moment::time_of_day(text)?),
    };
    let separator = date.chars().find(|c| !c.is_ascii_digit())?;
    if !matches!(separator, '-' | '/' | '.') {
        return None;
    }
    let mut split = date.split(separator);
    let parts = [split.next()?, split.next()?, split.next()?];
    let digits = |p: &&str| (1..=4).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_digit());
    let whole = split.next().is_none() && parts.iter().all(digits);
    whole.then_some((parts, time))
}

fn arranged<'a>(parts: &Parts<'a>, order: DateOrder) -> Parts<'a> {
    let [a, b, c] = *parts;
    match order {
        DateOrder::YearMonthDay => [a, b, c],
        DateOrder::DayMonthYear => [c, b, a],
        DateOrder::MonthDayYear => [c, a, b],
    }
}

fn in_order(parts: &Parts<'_>, order: DateOrder) -> Option<NaiveDate> {
    let [year, month, day] = arranged(parts, order);
    if year.len() != 4 || month.len() > 2 || day.len() > 2 {
        return None;
    }
    NaiveDate::from_ymd_opt(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)
}

fn why_not(parts: &Parts<'_>, order: DateOrder) -> DateProblem {
    let name = order_name(order);
    if parts.iter().all(|p| p.len() <= 2) {
        DateProblem::TwoDigitYear
    } else if ORDERS.into_iter().any(|o| in_order(parts, o).is_some()) {
        DateProblem::OtherOrder(name)
    } else if arranged(parts, order)[0].len() == 4 {
        DateProblem::NoSuchDay(name)
    } else {
        DateProblem::Unreadable(name)
    }
}

/// Rows that speak for and against the stated order.
#[derive(Debug, Default)]
pub(crate) struct OrderCheck {
    /// Rows whose date can be read in the stated order alone.
    only_stated: u64,
    /// Rows that can be read in another order but not in the stated one, by order.
    only_other: [Against; 3],
}

/// Rows that can only be read in another order.
#[derive(Debug, Clone, Default)]
pub(crate) struct Against {
    pub(crate) rows: u64,
    pub(crate) line: u64,
    pub(crate) value: String,
}

impl OrderCheck {
    /// Takes a row into account; `fits` are the orders that fit its date.
    pub(crate) fn row(&mut self, stated: DateOrder, fits: &[DateOrder], line: u64, value: &[u8]) {
        if fits == [stated] {
            self.only_stated += 1;
        }
        if fits.contains(&stated) {
            return;
        }
        for &other in fits {
            let against = &mut self.only_other[other as usize];
            against.rows += 1;
            if against.rows == 1 {
                against.line = line;
                against.value = String::from_utf8_lossy(value).into_owned();
            }
        }
    }

    /// The order that fits instead, where more rows rule the stated one out than rule it in, and
    /// the rows that only the stated order fits.
    pub(crate) fn verdict(&self) -> Option<(DateOrder, &Against, u64)> {
        let most = |o: &DateOrder| self.only_other[*o as usize].rows;
        let other = ORDERS.into_iter().rev().max_by_key(most)?;
        let against = &self.only_other[other as usize];
        (against.rows > self.only_stated).then_some((other, against, self.only_stated))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use DateOrder::*;

    fn day(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).unwrap()
    }

    #[test]
    fn dates_in_the_stated_order() {
        let cases = [
            ("2011-05-31", YearMonthDay, false),
            ("2011/5/31", YearMonthDay, false),
            ("31.05.2011", DayMonthYear, false),
            ("31/5/2011", DayMonthYear, false),
            ("05/31/2011", MonthDayYear, false),
            ("2011-05-31T06:30:00Z", YearMonthDay, true),
            ("2011-05-31 00:00:00", YearMonthDay, true),
            ("5/31/2011 6:30 PM", MonthDayYear, true),
            ("2011-05-31T06:30+01:00", YearMonthDay, true),
            ("31 May 2011", YearMonthDay, false),
            ("31-may-2011", DayMonthYear, false),
            ("May 31st, 2011", DayMonthYear, false),
            ("2011 May 31", DayMonthYear, false),
        ];
        for (cell, order, has_time) in cases {
            let date = day(2011, 5, 31);
            let found = read(cell, order, day(2026, 1, 1));
            let found = found.map(|r| (r.date, r.time.is_some()));
            assert_eq!(found, Ok((date, has_time)), "{cell}");
        }
    }

    #[test]
    fn bad_dates_say_why() {
        use DateProblem::*;
        let cases = [
            ("", YearMonthDay, Empty),
            ("31.05.11", DayMonthYear, TwoDigitYear),
            ("40694", YearMonthDay, DayNumber),
            ("40694.25", YearMonthDay, DayNumber),
            ("2011-02-29", YearMonthDay, NoSuchDay("year-month-day")),
            ("31/05/2011", MonthDayYear, OtherOrder("month-day-year")),
            ("0211-05-31", YearMonthDay, TooEarly),
            ("2026-01-02", YearMonthDay, Future),
            ("31 Mai 2011", DayMonthYear, Unreadable("day-month-year")),
            ("31 May 11", DayMonthYear, TwoDigitYear),
            ("31 June 2011", DayMonthYear, NoSuchNamedDay),
            ("2011-05/31", YearMonthDay, Unreadable("year-month-day")),
            ("2011-05", YearMonthDay, Unreadable("year-month-day")),
            (
                "2011-05-31 early",
                YearMonthDay,
                Unreadable("year-month-day"),
            ),
            (
                "2011\u{2013}05\u{2013}31",
                YearMonthDay,
                Unreadable("year-month-day"),
            ),
        ];
        for (cell, order, expected) in cases {
            assert_eq!(read(cell, order, day(2026, 1, 1)), Err(expected), "{cell}");
        }
    }

    #[test]
    fn the_order_is_ruled_out_by_the_majority_of_decisive_rows() {
        let mut check = OrderCheck::default();
        for cell in ["01/02/2011", "13/02/2011", "02/03/2011"] {
            check.row(MonthDayYear, &fitting(cell), 2, cell.as_bytes());
        }
        let (other, against, stated) = check.verdict().unwrap();
        assert_eq!((other, against.rows, stated), (DayMonthYear, 1, 0));
        for cell in ["01/14/2011", "01/15/2011"] {
            check.row(MonthDayYear, &fitting(cell), 5, cell.as_bytes());
        }
        assert!(check.verdict().is_none());
    }
}
