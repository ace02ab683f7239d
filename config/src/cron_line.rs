//! Lines of the ordinary five-field kind that say when something is done: minute, hour, day of the
//! month, month, day of the week.

use chrono::{DateTime, NaiveDateTime, Offset, TimeDelta, TimeZone, Utc, Weekday};
use chrono_tz::Tz;
use cron::Schedule;
use std::fmt::{self, Display};
use std::str::FromStr;

/// What a line looks like, for messages.
pub const EXPECTED: &str = "five fields (minute, hour, day of the month, month, day of the week), \
    such as \"30 6 * * mon\" for Mondays at 06:30";

/// When something is done, by the clock on a wall.
///
/// Where both days are given (neither is `*`), a day that meets either is meant, as POSIX says of
/// crontab. A time that a change of the clocks leaves out is taken by the offset before the change,
/// so that it comes once; of a time that comes twice, the first is taken (RFC 5545, section 3.3.5).
#[derive(Debug, Clone)]
pub struct CronLine {
    written: String,
    /// Any of these.
    schedules: Vec<Schedule>,
}

/// A text that says no time.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("expected {EXPECTED}")]
pub struct NoCronLine;

/// No clock has been set by more (the Philippines and Samoa once skipped a day).
const LONGEST_CHANGE: TimeDelta = TimeDelta::hours(25);

impl FromStr for CronLine {
    type Err = NoCronLine;

    fn from_str(text: &str) -> Result<Self, NoCronLine> {
        let fields: Vec<&str> = text.split_whitespace().collect();
        let [minute, hour, day, month, weekday] = fields[..] else {
            return Err(NoCronLine);
        };
        let plain = |c: char| c.is_ascii_alphanumeric() || "*,-/".contains(c);
        if !text.chars().all(|c| plain(c) || c.is_whitespace()) {
            return Err(NoCronLine);
        }
        let weekdays = weekdays(weekday).ok_or(NoCronLine)?;
        let days = match (day, weekday) {
            ("*", _) | (_, "*") => vec![(day, weekdays.as_str())],
            _ => vec![(day, "*"), ("*", weekdays.as_str())],
        };
        let schedule = |(day, weekday): (&str, &str)| {
            // the crate's first field is the second
            let line = format!("0 {minute} {hour} {day} {month} {weekday}");
            Schedule::from_str(&line).ok()
        };
        let schedules: Option<Vec<Schedule>> = days.into_iter().map(schedule).collect();
        let line = CronLine {
            written: fields.join(" "),
            schedules: schedules.ok_or(NoCronLine)?,
        };
        // a 31st of February reads well and never comes
        let sometime = line.walls_after(NaiveDateTime::default());
        sometime.map(|_| line).ok_or(NoCronLine)
    }
}

impl Display for CronLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

impl PartialEq for CronLine {
    fn eq(&self, other: &Self) -> bool {
        self.written == other.written
    }
}

impl CronLine {
    /// The first time after `instant`, in a place's time zone. None where the calendar ends.
    pub fn next_after(&self, instant: DateTime<Utc>, zone: Tz) -> Option<DateTime<Utc>> {
        // The hands may have been set back since a time that is still to come, or been set forward.
        let mut wall = instant.with_timezone(&zone).naive_local() - LONGEST_CHANGE;
        let horizon = wall + LONGEST_CHANGE * 2;
        let mut first: Option<DateTime<Utc>> = None;
        // Walls and instants run in different orders around a change, so every wall near it counts.
        while let Some(next) = self.walls_after(wall) {
            if next > horizon && first.is_some() {
                break;
            }
            wall = next;
            let at = on_the_clock(next, zone).filter(|at| *at > instant);
            first = first.into_iter().chain(at).min();
        }
        first
    }

    /// Every time after `after`, up to and with `until`, in order.
    pub fn between(
        &self,
        after: DateTime<Utc>,
        until: DateTime<Utc>,
        zone: Tz,
    ) -> Vec<DateTime<Utc>> {
        let next = |at: &DateTime<Utc>| self.next_after(*at, zone).filter(|at| *at <= until);
        std::iter::successors(next(&after), next).collect()
    }

    /// The last time after `after`, up to and with `until`, however many there are between.
    pub fn last_between(
        &self,
        after: DateTime<Utc>,
        until: DateTime<Utc>,
        zone: Tz,
    ) -> Option<DateTime<Utc>> {
        // from behind, so that a year of minutes costs no more than its last hour
        let mut span = TimeDelta::hours(1);
        while until - after > span {
            let last = self.between(until - span, until, zone).pop();
            if last.is_some() {
                return last;
            }
            span = span * 2;
        }
        self.between(after, until, zone).pop()
    }

    fn walls_after(&self, wall: NaiveDateTime) -> Option<NaiveDateTime> {
        let next = |s: &Schedule| s.after(&wall.and_utc()).next();
        let first = self.schedules.iter().filter_map(next).min();
        first.map(|at| at.naive_utc())
    }
}

fn on_the_clock(wall: NaiveDateTime, zone: Tz) -> Option<DateTime<Utc>> {
    if let Some(first) = zone.from_local_datetime(&wall).earliest() {
        return Some(first.to_utc());
    }
    let before = zone.from_utc_datetime(&(wall - LONGEST_CHANGE));
    Some((wall - before.offset().fix()).and_utc())
}

/// The days as the crate wants them, whose week begins with Sunday as 1: a list of names.
fn weekdays(field: &str) -> Option<String> {
    if field == "*" {
        return Some("*".to_owned());
    }
    let mut days = Vec::new();
    for part in field.split(',') {
        let (range, step) = match part.split_once('/') {
            Some((range, step)) => (range, step.parse().ok().filter(|s| *s > 0)?),
            None => (part, 1),
        };
        let (first, last) = match (range, range.split_once('-')) {
            ("*", _) => (0, 6),
            (_, Some((first, last))) => (weekday(first)?, last_weekday(weekday(first)?, last)?),
            (day, None) => (weekday(day)?, weekday(day)?),
        };
        days.extend((first..=last).step_by(step).map(|d| d % 7));
    }
    days.sort_unstable();
    days.dedup();
    let names = days
        .into_iter()
        .map(|d| ["sun", "mon", "tue", "wed", "thu", "fri", "sat"][d]);
    Some(names.collect::<Vec<_>>().join(","))
}

/// Sunday is 0 and 7.
fn weekday(text: &str) -> Option<usize> {
    if let Ok(number) = text.parse::<usize>() {
        return (number <= 7).then_some(number);
    }
    let day: Weekday = text.parse().ok()?;
    (text.len() == 3).then(|| day.num_days_from_sunday() as usize)
}

fn last_weekday(first: usize, text: &str) -> Option<usize> {
    let last = weekday(text)?;
    match last < first {
        // "fri-sun" ends with the Sunday behind it
        true if last == 0 => Some(7),
        true => None,
        false => Some(last),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::Datelike;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().expect("an instant")
    }

    fn days(line: &str, from: &str, to: &str) -> Vec<u32> {
        let line: CronLine = line.parse().expect(line);
        let times = line.between(at(from), at(to), Tz::UTC);
        times.iter().map(|t| t.day()).collect()
    }

    /// POSIX.1-2017, crontab: a month's days and a week's days both given are met by either.
    #[test]
    fn both_days_given_are_met_by_either() {
        let november = days(
            "0 0 13 * fri",
            "2026-10-31T12:00:00Z",
            "2026-11-30T12:00:00Z",
        );
        assert_eq!(november, [6, 13, 20, 27]);
        let october = days("0 0 13 * 5", "2026-09-30T12:00:00Z", "2026-10-31T12:00:00Z");
        assert_eq!(october, [2, 9, 13, 16, 23, 30]);
    }

    #[test]
    fn weeks_may_be_numbers_names_ranges_and_steps() {
        let week = |field: &str| {
            let line = format!("0 0 * * {field}");
            days(&line, "2026-11-01T12:00:00Z", "2026-11-08T12:00:00Z")
        };
        assert_eq!(week("1"), [2]);
        assert_eq!(week("0"), [8]);
        assert_eq!(week("7"), week("sun"));
        assert_eq!(week("Fri-Sun"), [6, 7, 8]);
        assert_eq!(week("5-7"), [6, 7, 8]);
        assert_eq!(week("*/2"), [3, 5, 7, 8]);
        assert_eq!(week("mon,wed"), [2, 4]);
    }

    #[test]
    fn the_last_time_is_the_last_of_all() {
        let spans = [
            ("2026-03-28T00:00:00Z", "2026-03-29T01:30:00Z"),
            ("2026-03-28T00:00:00Z", "2026-04-20T00:00:00Z"),
            ("2026-10-24T00:00:00Z", "2026-10-25T02:10:00Z"),
            ("2026-09-07T05:30:00Z", "2026-09-07T05:30:00Z"),
            ("2026-09-07T05:30:00Z", "2026-09-07T05:00:00Z"),
        ];
        for line in ["*/7 * * * *", "30 6 * * mon", "30 1 * * *", "0 0 1 1 *"] {
            let line: CronLine = line.parse().expect("a line");
            for (after, until) in spans.map(|(a, b)| (at(a), at(b))) {
                let zone = Tz::Europe__London;
                let slow = line.between(after, until, zone).pop();
                assert_eq!(
                    line.last_between(after, until, zone),
                    slow,
                    "{line} {until}"
                );
            }
        }
    }

    #[test]
    fn what_says_no_time_is_refused() {
        for bad in [
            "",
            "* * * *",
            "0 0 * * * *",
            "61 0 * * *",
            "0 24 * * *",
            "0 0 31 2 *",
            "0 0 * * 8",
            "0 0 * * fri-wed",
            "@weekly",
            "0 0 ? * mon",
            "0 0 L * *",
            "0 0 * * monday",
            "*/0 * * * *",
            "0 0 0 * *",
            "0 0 * 13 *",
        ] {
            assert_eq!(bad.parse::<CronLine>(), Err(NoCronLine), "{bad}");
        }
    }

    /// Facts of the IANA time zone database: Samoa left out 2011-12-30, London's clocks go forward
    /// at 01:00 UTC on 2026-03-29.
    #[test]
    fn a_time_that_the_clock_leaves_out_comes_once() {
        let line: CronLine = "*/20 1 * * *".parse().expect("a line");
        let times = line.between(
            at("2026-03-29T00:00:00Z"),
            at("2026-03-29T04:00:00Z"),
            Tz::Europe__London,
        );
        assert_eq!(
            times,
            ["01:00", "01:20", "01:40"].map(|t| at(&format!("2026-03-29T{t}:00Z")))
        );
        let daily: CronLine = "0 12 * * *".parse().expect("a line");
        let times = daily.between(
            at("2011-12-28T00:00:00Z"),
            at("2012-01-01T00:00:00Z"),
            Tz::Pacific__Apia,
        );
        assert_eq!(times.len(), 4, "{times:?}");
    }
}
