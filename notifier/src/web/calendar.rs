//! A site's windows as a calendar (RFC 5545).

use super::address::slug;
use super::feed::authority;
use super::render::{Making, Refusal};
use super::snapshot::ShownSite;
use crate::findings::passage;
use crate::guidance::{REMINDER, SiteView};
use crate::windows::in_order;
use crate::words;
use chrono::{DateTime, Datelike, Duration, NaiveDate, Utc};
use forecast::calendar::DAYS;
use forecast::fit::{DateEstimate, Passage};
use icalendar::{Calendar, Component, Event, EventLike, Property};

pub(super) const CALENDAR: &str = "text/calendar; charset=utf-8";

/// Seasons told: of this year and the next.
const YEARS: i32 = 2;

/// The calendar.
pub(super) fn calendar(making: &Making, site: &ShownSite) -> Result<String, Refusal> {
    let mut calendar = Calendar::empty();
    let product = format!("-//Wingtide//{}//EN", env!("CARGO_PKG_VERSION"));
    calendar.append_property(Property::new("VERSION", "2.0"));
    calendar.append_property(Property::new("PRODID", product));
    calendar.append_property(Property::new("CALSCALE", "GREGORIAN"));
    calendar.name(&one_line(&format!("Windows at {}", site.site.name)));
    if let Some(about) = &making.snapshot.workspace.about {
        calendar.description(&one_line(about));
    }
    if let Some(view) = site.view(&making.snapshot.workspace) {
        let year = site.today(making.now).year();
        let authority = authority(making.snapshot);
        let stamp = making.snapshot.changed;
        for (species, fit) in view.fits {
            for (place, p) in in_order(&fit.passages).into_iter().enumerate() {
                for year in year..year + YEARS {
                    let uid = uid(&view, species, (p, place), year);
                    let event = event(&view, species, p, year);
                    let event = event.map(|e| finish(e, &format!("{uid}@{authority}"), stamp));
                    calendar.extend(event);
                }
            }
        }
    }
    Ok(folded(&calendar.to_string()))
}

/// The same for the same passage and year, whatever is fitted.
fn uid(view: &SiteView, species: &str, (p, place): (&Passage, usize), year: i32) -> String {
    let name = passage(p.name);
    format!(
        "{}.{}.{name}-{}.{year}",
        view.site.id,
        slug(species),
        place + 1
    )
}

fn finish(mut event: Event, uid: &str, stamp: DateTime<Utc>) -> Event {
    event.uid(uid).timestamp(stamp).done()
}

/// A passage's window in a year; None where its dates are not known.
fn event(view: &SiteView, species: &str, p: &Passage, year: i32) -> Option<Event> {
    let (arrival, departure) = (p.arrival?, p.departure?);
    let first = date(arrival.day, year)?;
    let last = date(departure.day, year)?;
    let name = view.shown_name(species);
    let season = passage(p.name);
    let mut event = Event::new();
    event
        .summary(&one_line(&format!("{name}, {season}, {}", view.site.name)))
        .description(&description(arrival, p.median, departure))
        .location(&one_line(&view.site.name))
        .starts(first)
        // the first day that is no longer part of it (RFC 5545, 3.8.2.2)
        .ends(last + Duration::days(1))
        .append_property(Property::new("TRANSP", "TRANSPARENT"));
    Some(event.done())
}

fn description(
    arrival: DateEstimate,
    median: Option<DateEstimate>,
    departure: DateEstimate,
) -> String {
    let about = |what: &str, date: DateEstimate| {
        let half = |(low, high): (f64, f64)| ((high - low) / 2.0).max(1.0).round() as usize;
        match date.any_year.map(half) {
            Some(days) => format!(
                "{what} within {} in any one year",
                words::count_of(days, "day", "days")
            ),
            None => what.to_owned(),
        }
    };
    let dates = [
        Some(about("arrival", arrival)),
        median.map(|d| about("median", d)),
        Some(about("departure", departure)),
    ];
    let dates: Vec<String> = dates.into_iter().flatten().collect();
    let text = format!(
        "By long-term counts, from the day by which 5 % have gone through to that by which 95 % \
         have: {} (80 % intervals). {REMINDER}",
        words::list(&dates)
    );
    words::plain_spaces(&text)
}

/// The date of a position on the circle of a year; beyond either end in the year beside it.
fn date(position: f64, year: i32) -> Option<NaiveDate> {
    let day = position.round() as i64;
    let turns = (day - 1).div_euclid(DAYS as i64);
    let day = (day - 1).rem_euclid(DAYS as i64) as u32 + 1;
    let year = year + i32::try_from(turns).ok()?;
    NaiveDate::from_yo_opt(year, day).or_else(|| NaiveDate::from_ymd_opt(year, 12, 31))
}

/// Without line ends and other control signs, which have no place in a text (RFC 5545, 3.3.11).
pub(crate) fn one_line(text: &str) -> String {
    let text = words::plain_spaces(text);
    text.chars().filter(|c| !c.is_control()).collect()
}

/// Lines of 75 octets at most, ended by CR LF (RFC 5545, 3.1). The library's own lines are joined
/// and folded again, since its last piece of a line may have 76.
pub fn folded(text: &str) -> String {
    let joined = text.replace("\r\n ", "");
    let mut out = String::with_capacity(text.len());
    for line in joined.split("\r\n").filter(|line| !line.is_empty()) {
        let mut room = MOST_OCTETS;
        for letter in line.chars() {
            if letter.len_utf8() > room {
                out.push_str("\r\n ");
                room = MOST_OCTETS - 1;
            }
            room -= letter.len_utf8();
            out.push(letter);
        }
        out.push_str("\r\n");
    }
    out
}

const MOST_OCTETS: usize = 75;

#[cfg(test)]
mod tests {
    use super::*;

    /// Lengths of the check book's `icalendar/folding_lengths`: RFC 5545, 3.1, greedy.
    #[test]
    fn lines_are_folded_at_75_octets() {
        for (octets, pieces) in [
            (74, vec![74]),
            (75, vec![75]),
            (76, vec![75, 1]),
            (149, vec![75, 74]),
            (150, vec![75, 74, 1]),
            (224, vec![75, 74, 74, 1]),
        ] {
            let line = "x".repeat(octets);
            let folded = folded(&format!("{line}\r\n"));
            assert_eq!(folded.replace("\r\n ", ""), format!("{line}\r\n"));
            let found = folded.trim_end().split("\r\n");
            let found: Vec<usize> = found.map(|l| l.trim_start().len()).collect();
            assert_eq!(found, pieces, "{octets}");
        }
    }

    #[test]
    fn no_letter_is_cut() {
        let line = "Ł".repeat(100);
        for piece in folded(&format!("{line}\r\n")).trim_end().split("\r\n") {
            assert!(piece.len() <= 75 && piece.trim_start().chars().all(|c| c == 'Ł'));
        }
    }

    #[test]
    fn positions_beyond_the_year_fall_in_the_one_beside_it() {
        let day = |p, y| date(p, y).unwrap().to_string();
        assert_eq!(day(1.2, 2026), "2026-01-01");
        assert_eq!(day(366.0, 2026), "2026-12-31");
        assert_eq!(day(370.0, 2026), "2027-01-04");
        assert_eq!(day(-1.0, 2026), "2025-12-31");
    }
}
