//! How the tables of a source are laid out: which part of a file, and what runs across.

use super::Kind;
use crate::raw::{Key, Section};
use std::path::Path;
use toml::Spanned;

/// Name of the date column that a wide table's cells give.
pub const ACROSS_DATE: &str = "(date)";

/// Name of the species column that a wide table's cells give.
pub const ACROSS_SPECIES: &str = "(species)";

/// Name of the column of the cells themselves.
pub const ACROSS_VALUE: &str = "(cell)";

/// Columns of the counts of a Darwin Core Archive, as they are read from it. The last one tells of
/// the event of a row whether it was fully reported: `true`, `false` or nothing.
pub const DARWIN_CORE_COUNTS: [&str; 6] = [
    "eventDate",
    "location",
    "scientificName",
    "individualCount",
    "samplingEffort",
    "isTaxonomicScopeFullyReported",
];

/// Columns of its visits.
pub const DARWIN_CORE_VISITS: [&str; 3] = ["eventDate", "location", "samplingEffort"];

/// How a source's tables are laid out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Layout {
    /// Sheet of a workbook, `*` for each with the wanted columns; chosen where absent.
    pub sheet: Option<String>,
    /// File inside a zip archive; all that can be read where absent.
    pub member: Option<String>,
    /// What runs across the table, where it has a column for each.
    pub wide: Option<Wide>,
    /// A Darwin Core Archive, whose columns say themselves what they are.
    pub darwin_core: bool,
    /// Columns that are not read across.
    pub leave_out: Vec<String>,
}

/// What a wide table has a column for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wide {
    /// Each species.
    Species,
    /// Each date.
    Date,
    /// Each month.
    Months {
        /// Where the year stands.
        year: Given,
        /// Where the day of the month stands.
        day: Given,
    },
    /// Each day of the month.
    Days {
        /// Where the year stands.
        year: Given,
        /// Where the month stands.
        month: Given,
    },
}

/// Where a part of the dates stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Given {
    /// In a column.
    Column(String),
    /// In the settings.
    Value(u32),
    /// In the name of the sheet or file.
    Name,
}

impl Wide {
    /// Columns with parts of the dates, by key.
    pub fn date_parts(&self) -> Vec<(&'static str, &str)> {
        let parts = match self {
            Wide::Species | Wide::Date => return Vec::new(),
            Wide::Months { year, day } => [("year", year), ("day", day)],
            Wide::Days { year, month } => [("year", year), ("month", month)],
        };
        let columns = parts.into_iter().filter_map(|(key, given)| match given {
            Given::Column(name) => Some((key, name.as_str())),
            Given::Value(_) | Given::Name => None,
        });
        columns.collect()
    }

    /// Are its dates put together from parts, as year-month-day?
    pub fn builds_dates(&self) -> bool {
        matches!(self, Wide::Months { .. } | Wide::Days { .. })
    }

    /// Do its cells give the dates, rather than the species?
    pub(super) fn gives_dates(&self) -> bool {
        *self != Wide::Species
    }
}

pub(super) const SHEET: Key = Key(
    "sheet",
    r#"the name of a sheet, or "*" for each that has the columns"#,
);
pub(super) const MEMBER: Key = Key("member", "the name of a file inside the archive");
pub(super) const WIDE: Key = Key(
    "wide",
    "species, date, month or day: what the table has a column for each of",
);
pub(super) const FORMAT: Key = Key("format", "darwin-core, or left out for any other file");
pub(super) const LEAVE_OUT: Key = Key(
    "leave_out",
    r#"a list of columns that are not read across, such as ["Total"]"#,
);
pub(super) const YEAR: Key = Key("year", "a year such as 2024");
pub(super) const MONTH: Key = Key("month", "a month from 1 to 12");
pub(super) const DAY: Key = Key("day", "a day of the month from 1 to 31");

/// Columns with the parts of dates of a wide table.
pub(super) const YEAR_COLUMN: Key = Key("year", "the name of the year column");
pub(super) const MONTH_COLUMN: Key = Key("month", "the name of the month column");
pub(super) const DAY_COLUMN: Key = Key("day", "the name of the column with the day of the month");

pub(super) fn read(section: &Section<'_>, kind: Option<Kind>) -> Layout {
    let text = |key| section.text(key).map(Spanned::into_inner);
    let wide = wide(section, kind);
    let leave_out = section.texts("leave_out", false).unwrap_or_default();
    if wide.is_none() && section.has("leave_out") && !section.has("wide") {
        belongs_to_wide(section, "leave_out");
    }
    Layout {
        sheet: text("sheet"),
        member: text("member"),
        wide,
        darwin_core: darwin_core(section, kind),
        leave_out: leave_out.into_iter().map(Spanned::into_inner).collect(),
    }
}

/// Stated; or guessed where no columns are named of a zip or folder.
fn darwin_core(section: &Section<'_>, kind: Option<Kind>) -> bool {
    let stated = section.choice("format", &[("darwin-core", ())]).is_some();
    let file = section.quietly("file").map(Path::new);
    let extension = file.and_then(Path::extension);
    let archive = file.is_some() && extension.is_none_or(|e| e.eq_ignore_ascii_case("zip"));
    let guessed = archive && !section.has("columns") && !section.has("format");
    let fits = kind != Some(Kind::Temperature);
    if !(stated || guessed && fits) {
        return false;
    }
    if !fits {
        let message = format!("format in {} does not go with temperature", section.title());
        section.refuse_key("format", message);
    }
    let foreign = [
        "columns",
        "wide",
        "sheet",
        "member",
        "separator",
        "encoding",
        "date_order",
    ];
    for key in foreign.into_iter().filter(|key| section.has(key)) {
        let message = format!(
            "{key} in {} does not go with a Darwin Core Archive, which says so itself; leave it out",
            section.title()
        );
        section.refuse_key(key, message);
    }
    true
}

fn belongs_to_wide(section: &Section<'_>, key: &str) {
    let message = format!(
        "{key} in {} belongs to a wide table; say with wide what it has a column for, or leave it out",
        section.title()
    );
    section.refuse_key(key, message);
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Runs {
    Species,
    Date,
    Month,
    Day,
}

const RUNS: [(&str, Runs); 4] = [
    ("species", Runs::Species),
    ("date", Runs::Date),
    ("month", Runs::Month),
    ("day", Runs::Day),
];

fn wide(section: &Section<'_>, kind: Option<Kind>) -> Option<Wide> {
    let runs = section.choice("wide", &RUNS);
    let parts: &[&str] = match runs {
        Some(Runs::Month) => &["year", "day"],
        Some(Runs::Day) => &["year", "month"],
        _ => &[],
    };
    let given = ["year", "month", "day"].into_iter();
    for key in given.filter(|key| !parts.contains(key)) {
        refuse_part(section, key);
    }
    let runs = runs?;
    let fits = match kind? {
        Kind::Counts => true,
        Kind::Temperature => runs != Runs::Species,
        Kind::Visits => false,
    };
    if !fits {
        let message = format!(
            "wide in {} does not go with what it holds; leave it out here",
            section.title()
        );
        section.refuse_key("wide", message);
        return None;
    }
    Some(match runs {
        Runs::Species => Wide::Species,
        Runs::Date => Wide::Date,
        Runs::Month => Wide::Months {
            year: part(section, "year", 1700..=2100).unwrap_or(Given::Name),
            day: need_part(
                section,
                "day",
                1..=31,
                "name its column as columns.day, or write day = 15 to date each count to the middle \
                 of its month",
            )?,
        },
        Runs::Day => Wide::Days {
            year: part(section, "year", 1700..=2100).unwrap_or(Given::Name),
            month: need_part(
                section,
                "month",
                1..=12,
                "name its column as columns.month, or write month = 5",
            )?,
        },
    })
}

/// A part of the dates where the table has none to be completed.
fn refuse_part(section: &Section<'_>, key: &str) {
    if section.has(key) {
        belongs_to_wide(section, key);
    } else if section.has_in("columns", key) {
        section.refuse_here(format!(
            "columns.{key} in {} completes the dates of wide = \"month\" or \"day\"; leave it out here",
            section.title()
        ));
    }
}

fn part(section: &Section<'_>, key: &str, range: std::ops::RangeInclusive<u32>) -> Option<Given> {
    if let Some(column) = section.quietly_in("columns", key) {
        return Some(Given::Column(column.to_owned()));
    }
    if !section.has(key) {
        return None;
    }
    section.whole(key, range, 1).map(Given::Value)
}

fn need_part(
    section: &Section<'_>,
    key: &str,
    range: std::ops::RangeInclusive<u32>,
    way_out: &str,
) -> Option<Given> {
    let given = part(section, key, range);
    if given.is_none() && !section.has(key) && !section.has_in("columns", key) {
        section.refuse_here(format!(
            "{key} is missing in {}, as the cells of a wide table tell the rest of the date alone; \
             {way_out}",
            section.title()
        ));
    }
    given
}
