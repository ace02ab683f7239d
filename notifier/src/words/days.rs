//! Dates, weeks and months.

use super::TIE;
use crate::dates::{self, DateStyle};
use chrono::{DateTime, Datelike, NaiveDate, Utc, Weekday};
use chrono_tz::Tz;
use forecast::calendar::{IsoWeek, MonthDay};

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Name of a month, 1..=12.
pub fn month(month: u32) -> &'static str {
    MONTHS[(month as usize + 11) % 12]
}

/// The first three letters of a month's name, for axes.
pub fn month_short(number: u32) -> &'static str {
    &month(number)[..3]
}

/// "3 May", as all dates here in the [`DateStyle`] in force.
pub fn day_month(date: NaiveDate) -> String {
    let (day, month) = (date.day(), month(date.month()));
    match dates::style() {
        DateStyle::DayMonth => format!("{day}{TIE}{month}"),
        DateStyle::MonthDay => format!("{month}{TIE}{day}"),
        DateStyle::Iso => date.format("%m-%d").to_string(),
    }
}

/// "3 Sep", where room is scarce.
pub fn short_day(day: MonthDay) -> String {
    let month = month_short(day.month.into());
    match dates::style() {
        DateStyle::DayMonth => format!("{}{TIE}{month}", day.day),
        DateStyle::MonthDay => format!("{month}{TIE}{}", day.day),
        DateStyle::Iso => day.to_string(),
    }
}

/// "3 May 2026".
pub fn day_month_year(date: NaiveDate) -> String {
    match dates::style() {
        DateStyle::DayMonth => format!("{}{TIE}{}", day_month(date), date.year()),
        DateStyle::MonthDay => format!("{},{TIE}{}", day_month(date), date.year()),
        DateStyle::Iso => date.to_string(),
    }
}

/// "Wednesday 26 August 2026".
pub fn weekday_date(date: NaiveDate) -> String {
    let day = match date.weekday() {
        Weekday::Mon => "Monday",
        Weekday::Tue => "Tuesday",
        Weekday::Wed => "Wednesday",
        Weekday::Thu => "Thursday",
        Weekday::Fri => "Friday",
        Weekday::Sat => "Saturday",
        Weekday::Sun => "Sunday",
    };
    let comma = match dates::style() {
        DateStyle::MonthDay => ",",
        DateStyle::DayMonth | DateStyle::Iso => "",
    };
    format!("{day}{comma} {}", day_month_year(date))
}

/// "7 September 2026, 05:30", by the clocks of a zone.
pub fn moment(at: DateTime<Utc>, zone: Tz) -> String {
    let at = at.with_timezone(&zone);
    format!(
        "{}, {}",
        day_month_year(at.date_naive()),
        at.format("%H:%M")
    )
}

/// "24 to 30 August 2026", "28 December 2026 to 3 January 2027".
pub fn span(first: NaiveDate, last: NaiveDate) -> String {
    let end = day_month_year(last);
    if first.year() != last.year() || dates::style() == DateStyle::Iso {
        return format!("{} to {end}", day_month_year(first));
    }
    let same_month = first.month() == last.month();
    match dates::style() {
        DateStyle::MonthDay if same_month => {
            format!(
                "{} to {},{TIE}{}",
                day_month(first),
                last.day(),
                last.year()
            )
        }
        DateStyle::DayMonth if same_month => format!("{} to {end}", first.day()),
        _ => format!("{} to {end}", day_month(first)),
    }
}

/// "Week 35, 24 to 30 August 2026".
pub fn week(week: IsoWeek) -> String {
    let days = week.days();
    let (_, number) = week.year_and_week();
    format!("Week{TIE}{number}, {}", span(days[0], days[6]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::plain_spaces;

    fn date(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).unwrap()
    }

    #[test]
    fn moments_are_told_by_the_clocks_of_their_place() {
        let at = date(2026, 9, 7).and_hms_opt(5, 30, 0).unwrap().and_utc();
        assert_eq!(
            plain_spaces(&moment(at, Tz::Europe__London)),
            "7 September 2026, 06:30"
        );
    }

    #[test]
    fn spans_name_month_and_year_only_where_they_change() {
        let said = |a, b| plain_spaces(&span(a, b));
        assert_eq!(
            said(date(2026, 8, 24), date(2026, 8, 30)),
            "24 to 30 August 2026"
        );
        assert_eq!(
            said(date(2026, 8, 31), date(2026, 9, 6)),
            "31 August to 6 September 2026"
        );
        assert_eq!(
            said(date(2026, 12, 28), date(2027, 1, 3)),
            "28 December 2026 to 3 January 2027"
        );
        assert_eq!(
            plain_spaces(&week(IsoWeek::of(date(2027, 1, 2)))),
            "Week 53, 28 December 2026 to 3 January 2027"
        );
    }
}
