//! The kept plan as an iCalendar file (RFC 5545).

use super::kept::Entry;
use crate::web::calendar::folded;
use crate::words;
use chrono::{DateTime, Duration, Utc};
use config::settings::Workspace;
use icalendar::{Calendar, Component, Event, EventLike, EventStatus, Property};

/// The calendar of entries. Times are UTC, so that no table of time zones is needed; a visit
/// without a time takes its whole day. Whoever follows it may be anybody: a sensitive site has no
/// name in it, nor words of its keeper's.
pub fn calendar(workspace: &Workspace, entries: &[Entry]) -> String {
    let mut calendar = Calendar::empty();
    for (name, value) in [
        ("VERSION", "2.0"),
        ("PRODID", "-//Wingtide//Plan of visits//EN"),
        ("CALSCALE", "GREGORIAN"),
    ] {
        calendar.append_property(Property::new(name, value));
    }
    calendar.name(&format!("{}: planned visits", workspace.name));
    for entry in entries {
        calendar.push(event(workspace, entry));
    }
    folded(&words::plain_spaces(&calendar.to_string()))
}

fn event(workspace: &Workspace, entry: &Entry) -> Event {
    let site = workspace.site(&entry.site);
    let open = site.filter(|s| s.sensitive.is_none());
    let name = match (site, open) {
        (_, Some(open)) => open.name.as_str(),
        (Some(_), None) => UNNAMED,
        (None, None) => entry.site.as_str(),
    };
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
    let cautions = open.and_then(|s| s.cautions.clone());
    let words = [
        Some(entry.words.clone()),
        cautions,
        Some(REMINDER.to_owned()),
    ];
    let words: Vec<String> = words
        .into_iter()
        .flatten()
        .filter(|w| !w.is_empty())
        .collect();
    event.description(&words.join("\n"));
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
