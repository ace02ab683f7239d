//! A site's weeks as an Atom feed (RFC 4287).

use super::address::Place;
use super::page::name_of;
use super::render::{Making, Refusal};
use super::snapshot::{ShownSite, Snapshot};
use crate::chart::escape;
use crate::compose;
use crate::digest::SiteDigest;
use crate::guidance::REMINDER;
use crate::words;
use atom_syndication::{Content, Entry, Feed, Generator, Link, Person, Text};
use chrono::{DateTime, Duration, FixedOffset, NaiveDate, NaiveTime};
use forecast::calendar::IsoWeek;

pub(super) const ATOM: &str = "application/atom+xml; charset=utf-8";

/// Weeks told: this one and those before it.
const WEEKS: i64 = 5;

/// The feed.
pub(super) fn feed(making: &Making, site: &ShownSite) -> Result<String, Refusal> {
    let today = site.today(making.now);
    let entries: Vec<Entry> = (0..WEEKS)
        .map(|before| entry(making, site, today - Duration::weeks(before)))
        .collect();
    let (id, name) = (site.site.id.as_str(), &site.site.name);
    let updated = begins(site, IsoWeek::of(today).monday());
    let feed = Feed {
        title: plain(&format!("{name}, week by week")),
        subtitle: Some(plain(&subtitle(making.snapshot))),
        id: tag(making.snapshot, id),
        updated,
        authors: vec![author(making.snapshot)],
        generator: Some(Generator {
            value: "Wingtide".to_owned(),
            version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            ..Generator::default()
        }),
        links: vec![
            link(
                "self",
                "application/atom+xml",
                making.absolute(&Place::Feed(id)),
            ),
            link("alternate", "text/html", making.absolute(&Place::Site(id))),
        ],
        lang: Some(words::LANGUAGE.to_owned()),
        entries,
        ..Feed::default()
    };
    let bytes = feed.write_to(Vec::new()).map_err(Refusal::broken)?;
    Ok(String::from_utf8(bytes).map_err(Refusal::broken)? + "\n")
}

/// What is to be known of the whole, and what a forecast is not.
fn subtitle(snapshot: &Snapshot) -> String {
    match &snapshot.workspace.about {
        Some(about) => format!("{about} {REMINDER}"),
        None => REMINDER.to_owned(),
    }
}

/// An id that stays (RFC 4151): whoever has the name of the host or the keeper's mail domain gave
/// it. Both are unknown where a workspace says neither, and then the name is one that nobody has
/// (RFC 6761).
fn tag(snapshot: &Snapshot, rest: &str) -> String {
    format!("tag:{},2026:{rest}", authority(snapshot))
}

/// The name under which ids are given.
pub(super) fn authority(snapshot: &Snapshot) -> String {
    let workspace = &snapshot.workspace;
    let url = workspace.service.public_url.as_ref();
    let host = url.and_then(|url| url.host_str()).map(str::to_owned);
    let domain = || {
        let (_, domain) = workspace.keeper.as_deref()?.rsplit_once('@')?;
        let domain = domain.trim_end_matches('>').trim().to_lowercase();
        let fit = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-');
        (!domain.is_empty() && domain.chars().all(fit)).then_some(domain)
    };
    host.or_else(domain)
        .unwrap_or_else(|| "wingtide.invalid".to_owned())
}

/// The keeper by name, else the workspace: a feed has an author.
fn author(snapshot: &Snapshot) -> Person {
    let keeper = snapshot.workspace.keeper.as_deref().and_then(name_of);
    Person {
        name: keeper.unwrap_or_else(|| snapshot.workspace.name.clone()),
        ..Person::default()
    }
}

fn link(rel: &str, kind: &str, href: String) -> Link {
    Link {
        href,
        rel: rel.to_owned(),
        mime_type: Some(kind.to_owned()),
        ..Link::default()
    }
}

/// Text without what XML 1.0 has no place for.
fn plain(text: &str) -> Text {
    let allowed = |c: &char| !c.is_control() || matches!(c, '\n' | '\t');
    Text::plain(text.chars().filter(allowed).collect::<String>())
}

/// When a week begins there: from then on its forecast stands.
fn begins(site: &ShownSite, monday: NaiveDate) -> DateTime<FixedOffset> {
    let midnight = monday.and_time(NaiveTime::MIN);
    let local = midnight.and_local_timezone(site.site.time_zone).earliest();
    local.map_or_else(|| midnight.and_utc().fixed_offset(), |at| at.fixed_offset())
}

fn entry(making: &Making, site: &ShownSite, day: NaiveDate) -> Entry {
    let week = IsoWeek::of(day);
    let id = site.site.id.as_str();
    let place = match week == IsoWeek::of(site.today(making.now)) {
        true => Place::Site(id),
        false => Place::Week(id, week),
    };
    let begins = begins(site, week.monday());
    let view = site.view(&making.snapshot.workspace);
    let told = view.map(|view| compose::told(&view, week.monday()));
    Entry {
        title: plain(&words::plain_spaces(&format!(
            "{}: {}",
            site.site.name,
            words::week(week)
        ))),
        id: tag(making.snapshot, &format!("{id}/{week}")),
        updated: begins,
        published: Some(begins),
        links: vec![link("alternate", "text/html", making.absolute(&place))],
        content: Some(Content {
            content_type: Some("html".to_owned()),
            value: Some(told.as_ref().map_or_else(nothing, content)),
            ..Content::default()
        }),
        ..Entry::default()
    }
}

fn nothing() -> String {
    "<p>No counts are loaded and fitted for this site yet.</p>".to_owned()
}

/// What the week has: its notices, the sets whose members are about together, names to doubt.
fn content(told: &SiteDigest) -> String {
    let mut html = String::new();
    let mut say = |text: &str| html.push_str(&format!("<p>{}</p>\n", escape(text)));
    for notice in told.notices() {
        say(&notice.for_readers());
    }
    for set in told.full_sets() {
        say(&format!("{}. {}", set.title, words::together(set)));
        if let Some(doubt) = words::doubt(set) {
            say(&doubt);
        }
    }
    let others: Vec<&str> = told
        .guidance
        .others
        .iter()
        .map(|m| m.name.as_str())
        .collect();
    if !others.is_empty() {
        say(&format!("Also to be expected: {}.", words::list(&others)));
    }
    say(REMINDER);
    html
}
