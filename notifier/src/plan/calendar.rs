//! The kept plan as an iCalendar file (RFC 5545).

use super::kept::Entry;
use crate::web::calendar::{folded, one_line};
use crate::words;
use chrono::{DateTime, Duration, Utc};
use config::settings::Workspace;
use icalendar::{Calendar, Component, Event, EventLike, EventStatus, Property};
use std::borrow::Cow;

/// An entry with what is said of its site.
pub struct Row<'a> {
    /// The entry.
    pub entry: Cow<'a, Entry>,
    /// How the site is called.
    pub place: &'a str,
    /// What its keeper says of it.
    pub cautions: Option<&'a str>,
}

/// The entries as anybody may follow them: a sensitive site has no name, nor words of its keeper's,
/// nor a time, since it begins at a sunrise that tells where it lies.
pub fn rows<'a>(workspace: &'a Workspace, entries: &'a [Entry]) -> Vec<Row<'a>> {
    let row = |entry: &'a Entry| match workspace.site(&entry.site) {
        None => Row {
            entry: Cow::Borrowed(entry),
            place: entry.site.as_str(),
            cautions: None,
        },
        Some(site) if site.sensitive.is_some() => Row {
            entry: Cow::Owned(entry.clone().without_time()),
            place: UNNAMED,
            cautions: None,
        },
        Some(site) => Row {
            entry: Cow::Borrowed(entry),
            place: &site.name,
            cautions: site.cautions.as_deref(),
        },
    };
    entries.iter().map(row).collect()
}

/// The calendar of that name, with what is to be known of the whole. Times are UTC, so that no
/// table of time zones is needed; a visit without a time takes its whole day.
pub fn calendar(name: &str, about: Option<&str>, rows: &[Row]) -> String {
    let mut calendar = Calendar::empty();
    for (name, value) in [
        ("VERSION", "2.0"),
        ("PRODID", "-//Wingtide//Plan of visits//EN"),
        ("CALSCALE", "GREGORIAN"),
    ] {
        calendar.append_property(Property::new(name, value));
    }
    calendar.name(&one_line(&format!("{name}: planned visits")));
    if let Some(about) = about {
        calendar.description(&one_line(about));
    }
    for row in rows {
        calendar.push(event(row));
    }
    folded(&words::plain_spaces(&calendar.to_string()))
}

fn event(row: &Row) -> Event {
    let (entry, name) = (&row.entry, row.place);
    let mut event = Event::new();
    event
        .uid(&format!("{}@wingtide", entry.uid))
        .sequence(entry.sequence)
        .timestamp(entry.changed)
        .summary(&format!("Visit to {name}"))
        .location(name)
        .status(match entry.cancelled {
            true => EventStatus::Cancelled,
            false => EventStatus::Confirmed,
        });
    event.append_property(Property::new("LAST-MODIFIED", stamp(entry.changed)));
    let said = [
        entry.words.as_str(),
        row.cautions.unwrap_or_default(),
        REMINDER,
    ];
    let said: Vec<&str> = said.into_iter().filter(|w| !w.is_empty()).collect();
    event.description(&said.join("\n"));
    match (entry.begin, entry.end) {
        (Some(begin), Some(end)) => event.starts(begin).ends(end),
        _ => event
            .starts(entry.date)
            .ends(entry.date + Duration::days(1)),
    };
    event.done()
}

/// A sensitive site.
const UNNAMED: &str = "a site that is not named here";

const REMINDER: &str = "Enter it as a targeted visit. Tell somebody where you are; weather, \
tides and access rules come first.";

fn stamp(time: DateTime<Utc>) -> String {
    time.format("%Y%m%dT%H%M%SZ").to_string()
}
