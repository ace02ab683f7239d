//! `[[source]]`: files to load and how to read them.

pub(crate) mod address;
mod columns;
pub(crate) mod held;
pub(crate) mod layout;
mod meaning;
mod tokens;

use crate::ids::Ids;
use crate::nearest::one_of;
use crate::raw::{Key, Section, did_you_mean};
use crate::settings::{DateOrder, Source, SourceKind};
use layout::Layout;
use std::collections::BTreeMap;
use std::path::Path;
use toml::Spanned;

const KEYS: &[Key] = &[
    Key("id", crate::ID),
    Key("kind", "counts, visits or temperature"),
    Key("file", "the name of a file or folder, relative to this one"),
    Key("url", address::URL),
    layout::SHEET,
    layout::MEMBER,
    layout::WIDE,
    layout::FORMAT,
    layout::LEAVE_OUT,
    layout::YEAR,
    layout::MONTH,
    layout::DAY,
    Key(
        "date_order",
        "year-month-day, day-month-year or month-day-year",
    ),
    Key("separator", r#"one ASCII character such as ";", or "tab""#),
    Key(
        "encoding",
        r#"the name of an encoding such as "windows-1252""#,
    ),
    Key("site", "the id of the site that every row is of"),
    Key(
        "site_names",
        r#"site ids by what the file writes, such as { "LB" = "long-bank" }"#,
    ),
    Key("fully_reported", "true or false"),
    Key(
        "columns",
        r#"the file's column names, such as { date = "Date", species = "Species" }"#,
    ),
    Key(
        "tokens",
        r#"how inexact counts are written, such as { at_least = ["+"] }"#,
    ),
    meaning::PURPOSE_OF_ALL,
    meaning::OBSERVERS,
    meaning::WITHIN,
    meaning::NIGHT,
    meaning::WORDS,
    Key("unit", "C or F"),
];

const DATE_ORDERS: [(&str, DateOrder); 3] = [
    ("year-month-day", DateOrder::YearMonthDay),
    ("day-month-year", DateOrder::DayMonthYear),
    ("month-day-year", DateOrder::MonthDayYear),
];

/// What a source holds, before its columns are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Counts,
    Visits,
    Temperature,
}

/// Keys that do not go with every kind.
const OWNERS: &[(&str, &[Kind])] = &[
    ("fully_reported", &[Kind::Counts]),
    ("tokens", &[Kind::Counts]),
    ("purpose", &[Kind::Counts, Kind::Visits]),
    ("observers", &[Kind::Counts, Kind::Visits]),
    ("within_km", &[Kind::Counts, Kind::Visits]),
    ("night", &[Kind::Counts, Kind::Visits]),
    ("words", &[Kind::Counts, Kind::Visits]),
    ("unit", &[Kind::Temperature]),
];

impl Kind {
    fn name(self) -> &'static str {
        let found = KINDS.iter().find(|(_, kind)| *kind == self);
        found.map_or("", |(name, _)| name)
    }
}

const KINDS: [(&str, Kind); 3] = [
    ("counts", Kind::Counts),
    ("visits", Kind::Visits),
    ("temperature", Kind::Temperature),
];

/// Every `[[source]]` of the file, with paths below `root`.
pub(crate) fn read(top: &Section<'_>, root: &Path, sites: &Ids) -> Vec<Source> {
    let mut ids = Ids::default();
    let sections = top.sections("source", KEYS);
    let read_one = |section| read_one(section, root, &mut ids, sites);
    sections.iter().filter_map(read_one).collect()
}

fn read_one(section: &Section<'_>, root: &Path, ids: &mut Ids, sites: &Ids) -> Option<Source> {
    let id = ids.take(section);
    let date_order = section.choice("date_order", &DATE_ORDERS);
    let place = address::place(section, root, id.as_deref());
    let separator = separator(section);
    let encoding = section.text("encoding").map(Spanned::into_inner);
    let site = site(section, sites);
    let site_names = site_names(section, sites);
    let kind = section.need_choice("kind", &KINDS);
    let layout = layout::read(section, kind);
    let held = kind.and_then(|kind| held(section, kind, &layout));
    let meaning = meaning::read(section, layout.darwin_core.then_some(kind).flatten());
    let site = match kind {
        Some(kind) => site_of_rows(section, kind, site, sites, layout.darwin_core),
        None => site,
    };
    let address::Place { path, url } = place?;
    Some(Source {
        id: id?,
        path,
        url,
        kind: held?,
        separator,
        encoding,
        date_order,
        site,
        site_names,
        layout,
        meaning,
    })
}

/// The kind with its columns; notes the keys that do not go with it.
fn held(section: &Section<'_>, kind: Kind, layout: &Layout) -> Option<SourceKind> {
    for (key, owners) in OWNERS.iter().filter(|(_, owners)| !owners.contains(&kind)) {
        if section.has(key) {
            let message = format!(
                "{key} in {} belongs to {} alone; leave it out here",
                section.title(),
                one_of(owners.iter().map(|kind| kind.name())).replace(" or ", " and ")
            );
            section.refuse_key(key, message);
        }
    }
    if layout.darwin_core {
        return columns::darwin_core(section, kind, tokens::read);
    }
    match kind {
        Kind::Counts => {
            let tokens = tokens::read(section);
            let fully_reported = section.flag("fully_reported");
            let wide = layout.wide.as_ref();
            columns::counts(section, fully_reported, tokens, wide).map(SourceKind::Counts)
        }
        Kind::Visits => columns::visits(section).map(SourceKind::Visits),
        Kind::Temperature => {
            let wide = layout.wide.as_ref();
            columns::temperature(section, wide).map(SourceKind::Temperature)
        }
    }
}

/// The site of every row: the one named, or the only one there is. A temperature source without
/// either serves all sites.
fn site_of_rows(
    section: &Section<'_>,
    kind: Kind,
    site: Option<String>,
    sites: &Ids,
    darwin_core: bool,
) -> Option<String> {
    let has_column = columns::has_site(section) || darwin_core && !section.has("site");
    if has_column && section.has("site") {
        let message = format!(
            "{} has both a site and a site column; keep the one that says where its rows are from",
            section.title()
        );
        section.refuse_key("site", message);
    }
    if !has_column && section.has("site_names") {
        let message = format!(
            "{} has site_names and no site column for them; name the column in columns, or leave site_names out",
            section.title()
        );
        section.refuse_key("site_names", message);
        return site;
    }
    if has_column || section.has("site") || kind == Kind::Temperature {
        return site;
    }
    let mut names = sites.names();
    match (names.next(), names.next()) {
        (Some(only), None) => Some(only.to_owned()),
        (Some(_), Some(_)) => {
            section.refuse_here(format!("{} does not say which site its rows are from; expected a site column in columns, or site = the id of one", section.title()));
            None
        }
        // No site at all is told where sites are read.
        (None, _) => None,
    }
}

fn site(section: &Section<'_>, sites: &Ids) -> Option<String> {
    let name = section.text("site")?;
    known_site(section, "site", &name, sites)
}

fn site_names(section: &Section<'_>, sites: &Ids) -> BTreeMap<String, String> {
    let known = |(written, id): (Spanned<String>, Spanned<String>)| {
        known_site(section, "site_names", &id, sites).map(|id| (written.into_inner(), id))
    };
    section
        .pairs("site_names")
        .into_iter()
        .filter_map(known)
        .collect()
}

/// The site id where there is such a site; else noted, with the nearest.
pub(crate) fn known_site(
    section: &Section<'_>,
    key: &str,
    id: &Spanned<String>,
    sites: &Ids,
) -> Option<String> {
    if sites.has(id.get_ref()) {
        return Some(id.get_ref().clone());
    }
    let message = format!(
        "unknown site {:?} in {key} of {}; expected the id of a [[site]]",
        id.get_ref(),
        section.title()
    );
    section.refuse(id, message, did_you_mean(id.get_ref(), sites.names()));
    None
}

/// One ASCII character, or "tab". Not one that numbers, words or quotes are made of.
fn separator(section: &Section<'_>) -> Option<u8> {
    // A tab between quotes is a control character, which `text` refuses: "tab" stands for it.
    let text = section.text("separator")?;
    let part_of_values = |b: u8| b.is_ascii_alphanumeric() || b == b'"' || b == b'.' || b == b'-';
    match text.get_ref().as_bytes() {
        b"tab" => Some(b'\t'),
        [one] if one.is_ascii() && !part_of_values(*one) => Some(*one),
        _ => {
            section.refuse_value("separator", &text);
            None
        }
    }
}
