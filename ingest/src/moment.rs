//! Times of day, and the local date on which a written moment fell at a site.

use chrono::{Days, NaiveDate, NaiveTime, TimeDelta, TimeZone, Timelike};
use chrono_tz::Tz;
use config::meaning::Night;

/// A time of day as written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct TimeOfDay {
    pub(crate) clock: NaiveTime,
    /// Minutes east of UTC, where the zone is written (0 for Z); else it is local.
    pub(crate) offset_min: Option<i32>,
}

/// 6:30, 06:30:00, 06:30:00.5Z, 06:30+01:00, 06:30 +0100 or 6:30 PM.
pub(crate) fn time_of_day(text: &str) -> Option<TimeOfDay> {
    let text = text.trim().to_ascii_uppercase();
    let (clock, offset_min) = match text.strip_suffix('Z') {
        Some(clock) => (clock, Some(0)),
        None => match text.rfind(['+', '-']) {
            Some(place) => (&text[..place], Some(offset(&text[place..])?)),
            None => (text.as_str(), None),
        },
    };
    let clock = clock.trim();
    let formats = ["%H:%M", "%H:%M:%S%.f", "%I:%M %p", "%I:%M:%S %p", "%I:%M%p"];
    let read = |format: &&str| NaiveTime::parse_from_str(clock, format).ok();
    Some(TimeOfDay {
        clock: formats.iter().find_map(read)?,
        offset_min,
    })
}

/// +01:00, +0100 or +01, as minutes; none are beyond 14 hours.
fn offset(text: &str) -> Option<i32> {
    const MOST_MIN: i32 = 14 * 60;
    let (sign, digits) = text.split_at(1);
    let digits = digits.replace(':', "");
    let number = |part: &str| {
        part.parse::<i32>()
            .ok()
            .filter(|_| part.bytes().all(|b| b.is_ascii_digit()))
    };
    let (hours, minutes) = match (digits.len(), digits.split_at_checked(2)) {
        (2, _) => (number(&digits)?, 0),
        (4, Some((hours, minutes))) => (number(hours)?, number(minutes)?),
        _ => return None,
    };
    let total = hours * 60 + minutes;
    (minutes < 60 && total <= MOST_MIN).then_some(if sign == "-" { -total } else { total })
}

/// The local date of a moment in a time zone, and then that of its night; None at the ends of
/// the calendar.
pub(crate) fn local_date(
    date: NaiveDate,
    time: TimeOfDay,
    zone: Tz,
    night: Option<Night>,
) -> Option<NaiveDate> {
    let written = date.and_time(time.clock);
    let local = match time.offset_min {
        None => written,
        Some(minutes) => {
            let utc = written.checked_sub_signed(TimeDelta::minutes(i64::from(minutes)))?;
            zone.from_utc_datetime(&utc).naive_local()
        }
    };
    let before_noon = local.hour() < 12;
    match night {
        Some(Night::Evening) if before_noon => local.date().checked_sub_days(Days::new(1)),
        Some(Night::Morning) if !before_noon => local.date().checked_add_days(Days::new(1)),
        _ => Some(local.date()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::{America, Europe, Pacific};

    #[test]
    fn times_as_people_write_them() {
        let cases = [
            ("6:30", Some((6, 30, None))),
            ("06:30:00.5Z", Some((6, 30, Some(0)))),
            ("06:30+01:00", Some((6, 30, Some(60)))),
            ("06:30 -0330", Some((6, 30, Some(-210)))),
            ("6:30 pm", Some((18, 30, None))),
            ("12:15AM", Some((0, 15, None))),
            ("25:00", None),
            ("06:30+15:00", None),
            ("early", None),
            // four bytes that are no four letters
            ("06:30-}\u{201a}", None),
        ];
        for (text, expected) in cases {
            let read = time_of_day(text);
            let read = read.map(|t| (t.clock.hour(), t.clock.minute(), t.offset_min));
            assert_eq!(read, expected, "{text}");
        }
    }

    /// Offsets and changes of the clock by the IANA time zone database: London is an hour ahead of
    /// UTC from 27 March 2022, 01:00 UTC, to 30 October 2022, 01:00 UTC; New York falls back on
    /// 6 November 2022; Auckland is 13 hours ahead in January.
    #[test]
    fn moments_fall_on_local_dates() {
        let cases = [
            ("2022-03-26", "23:30Z", Europe::London, "2022-03-26"),
            ("2022-03-27", "23:30Z", Europe::London, "2022-03-28"),
            ("2022-10-29", "23:30Z", Europe::London, "2022-10-30"),
            ("2022-10-30", "23:30Z", Europe::London, "2022-10-30"),
            ("2022-11-06", "03:59Z", America::New_York, "2022-11-05"),
            ("2022-11-07", "04:30Z", America::New_York, "2022-11-06"),
            ("2022-01-10", "11:00Z", Pacific::Auckland, "2022-01-11"),
            ("2022-05-01", "00:30+02:00", Europe::London, "2022-04-30"),
            ("2022-05-01", "23:59", Europe::London, "2022-05-01"),
        ];
        for (date, time, zone, expected) in cases {
            let time_read = time_of_day(time).unwrap();
            let found = local_date(date.parse().unwrap(), time_read, zone, None);
            assert_eq!(found.unwrap().to_string(), expected, "{date} {time}");
        }
    }

    #[test]
    fn nights_belong_to_one_date() {
        let cases = [
            ("22:00", Night::Evening, "2022-05-01"),
            ("02:00", Night::Evening, "2022-04-30"),
            ("22:00", Night::Morning, "2022-05-02"),
            ("02:00", Night::Morning, "2022-05-01"),
            ("12:00", Night::Evening, "2022-05-01"),
        ];
        for (time, night, expected) in cases {
            let date = "2022-05-01".parse().unwrap();
            let time_read = time_of_day(time).unwrap();
            let found = local_date(date, time_read, Europe::London, Some(night));
            assert_eq!(found.unwrap().to_string(), expected, "{time} {night:?}");
        }
    }
}
