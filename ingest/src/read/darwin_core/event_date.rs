//! `dwc:eventDate`: ISO 8601-1:2019 dates, moments and intervals of either.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime};
use chrono_tz::Tz;
use std::str::FromStr;

/// What a text tells of when an event was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EventDate {
    /// A year.
    Year(i32),
    /// A month of a year.
    Month(i32, u32),
    /// A day, or a moment of it.
    At(Moment),
    /// From one to the other, both included.
    Between(Moment, Moment),
}

/// A day, with the time of day and the offset from UTC where they are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// The day as written.
    pub day: NaiveDate,
    /// The time of day as written.
    pub time: Option<NaiveTime>,
    /// Offset from UTC.
    pub offset: Option<FixedOffset>,
}

/// Why the text tells no day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum EventDateProblem {
    /// Nothing is written.
    #[error("empty")]
    Empty,
    /// No date of ISO 8601.
    #[error("no date of ISO 8601, such as 2026-04-18 or 2026-04-18T05:30/07:30")]
    NoDate,
    /// The end lies before the start.
    #[error("its end lies before its start")]
    Backwards,
    /// A year or a month.
    #[error("a whole year or month; a count needs its day")]
    NoDay,
    /// More than a day, or a night.
    #[error("more than one day; a count needs its day")]
    ManyDays,
}

use EventDateProblem::{Backwards, Empty, ManyDays, NoDate, NoDay};

impl FromStr for EventDate {
    type Err = EventDateProblem;

    fn from_str(text: &str) -> Result<Self, EventDateProblem> {
        let text = text.trim();
        if text.is_empty() {
            return Err(Empty);
        }
        let Some((from, to)) = text.split_once('/') else {
            return single(text).ok_or(NoDate);
        };
        let from = moment(from).ok_or(NoDate)?;
        let to = moment(to).or_else(|| short_end(from, to)).ok_or(NoDate)?;
        match instant(&to) < instant(&from) {
            true => Err(Backwards),
            false => Ok(EventDate::Between(from, to)),
        }
    }
}

fn single(text: &str) -> Option<EventDate> {
    if let Some(moment) = moment(text) {
        return Some(EventDate::At(moment));
    }
    let digits = |t: &str, n| t.len() == n && t.bytes().all(|b| b.is_ascii_digit());
    match text.split_once('-') {
        None if digits(text, 4) => Some(EventDate::Year(text.parse().ok()?)),
        Some((year, month)) if digits(year, 4) && digits(month, 2) => {
            let (year, month) = (year.parse().ok()?, month.parse().ok()?);
            NaiveDate::from_ymd_opt(year, month, 1).map(|_| EventDate::Month(year, month))
        }
        _ => None,
    }
}

/// YYYY-MM-DD, with Thh:mm[:ss] and Z or an offset where they are known.
fn moment(text: &str) -> Option<Moment> {
    let (day, rest) = match text.split_once(['T', ' ']) {
        None => (text, None),
        Some((day, rest)) => (day, Some(rest)),
    };
    if day.len() != 10 {
        return None;
    }
    let day = NaiveDate::parse_from_str(day, "%Y-%m-%d").ok()?;
    let (time, offset) = match rest {
        None => (None, None),
        Some(rest) => time(rest).map(|(time, offset)| (Some(time), offset))?,
    };
    Some(Moment { day, time, offset })
}

fn time(text: &str) -> Option<(NaiveTime, Option<FixedOffset>)> {
    let end = text.find(['Z', '+', '-']).unwrap_or(text.len());
    let (clock, zone) = text.split_at(end);
    let clock = ["%H:%M", "%H:%M:%S", "%H:%M:%S%.f"]
        .into_iter()
        .find_map(|form| NaiveTime::parse_from_str(clock, form).ok())?;
    let offset = match zone {
        "" => None,
        "Z" => FixedOffset::east_opt(0),
        _ => Some(offset(zone)?),
    };
    Some((clock, offset))
}

/// +01:00, +0100 or +01
fn offset(text: &str) -> Option<FixedOffset> {
    let (sign, rest) = text.split_at(1);
    let rest = rest.replace(':', "");
    let number = |part: &str| {
        part.parse::<i32>()
            .ok()
            .filter(|_| part.bytes().all(|b| b.is_ascii_digit()))
    };
    let seconds = match (rest.len(), rest.split_at_checked(2)) {
        (2, _) => number(&rest)? * 3600,
        (4, Some((hours, minutes))) => number(hours)? * 3600 + number(minutes)? * 60,
        _ => return None,
    };
    FixedOffset::east_opt(if sign == "-" { -seconds } else { seconds })
}

/// An end that leaves out the parts that it shares with the start: 2026-04-18/20, T05:30/07:30.
fn short_end(from: Moment, end: &str) -> Option<Moment> {
    if let Some(clock) = Some(end).filter(|e| e.contains(':')) {
        from.time?;
        let (time, offset) = time(clock.trim_start_matches('T'))?;
        let offset = offset.or(from.offset);
        return Some(Moment {
            time: Some(time),
            offset,
            ..from
        });
    }
    let start = from.day.to_string();
    let kept = start
        .len()
        .checked_sub(end.len())
        .filter(|kept| *kept > 0)?;
    // what is left out ends with a hyphen
    let whole = start[..kept]
        .ends_with('-')
        .then(|| format!("{}{end}", &start[..kept]))?;
    from.time.is_none().then(|| moment(&whole))?
}

fn instant(moment: &Moment) -> NaiveDateTime {
    let time = moment.time.unwrap_or_default();
    let offset = moment.offset.map_or(0, |o| o.local_minus_utc());
    moment.day.and_time(time) - Duration::seconds(i64::from(offset))
}

impl Moment {
    /// The day where clocks go by that zone; as written where no offset is known.
    fn local_day(&self, zone: Option<Tz>) -> NaiveDate {
        let at = self.time.zip(self.offset).zip(zone);
        let moved = at.and_then(|((time, offset), zone)| {
            let there = self.day.and_time(time).and_local_timezone(offset).single();
            there.map(|t: DateTime<FixedOffset>| t.with_timezone(&zone).date_naive())
        });
        moved.unwrap_or(self.day)
    }
}

impl EventDate {
    /// The day on which it was, by the clocks of that zone. What runs over one midnight and takes a
    /// day at most is a night, which goes by its evening (common practice, no source).
    pub fn day(&self, zone: Option<Tz>) -> Result<NaiveDate, EventDateProblem> {
        match self {
            EventDate::Year(_) | EventDate::Month(..) => Err(NoDay),
            EventDate::At(moment) => Ok(moment.local_day(zone)),
            EventDate::Between(from, to) => {
                let (first, last) = (from.local_day(zone), to.local_day(zone));
                let timed = from.time.is_some() && to.time.is_some();
                let short = instant(to) - instant(from) <= Duration::hours(24);
                match first == last || (timed && short) {
                    true => Ok(first),
                    false => Err(ManyDays),
                }
            }
        }
    }
}
