//! Which columns a source of each kind has.

use super::Kind;
use super::layout::{
    ACROSS_DATE, ACROSS_SPECIES, ACROSS_VALUE, DARWIN_CORE_COUNTS, DARWIN_CORE_VISITS, DAY_COLUMN,
    MONTH_COLUMN, Wide, YEAR_COLUMN,
};
use super::meaning;
use crate::raw::{Key, Section};
use crate::settings::{
    CountColumns, CountTokens, SourceKind, SpeciesColumns, TemperatureColumns, TemperatureUnit,
    VisitColumns,
};
use toml::Spanned;

const DATE: Key = Key("date", "the name of the date column");
const SITE: Key = Key("site", "the name of the site column");
const EFFORT: Key = Key("effort", "the name of the effort column");

const COUNTS: &[Key] = &[
    DATE,
    SITE,
    Key("species", "the name of the species column"),
    Key("genus", "the name of the genus column"),
    Key("epithet", "the name of the epithet column"),
    Key("count", "the name of the count column"),
    EFFORT,
    meaning::PURPOSE,
    meaning::REPORTED,
    meaning::OBSERVER,
    meaning::STATUS,
    meaning::AGE,
    meaning::SEX,
    meaning::PLUMAGE,
    meaning::QUALIFIER,
    meaning::LATITUDE,
    meaning::LONGITUDE,
    YEAR_COLUMN,
    MONTH_COLUMN,
    DAY_COLUMN,
];
const VISITS: &[Key] = &[
    DATE,
    SITE,
    EFFORT,
    meaning::PURPOSE,
    meaning::REPORTED,
    meaning::OBSERVER,
    meaning::LATITUDE,
    meaning::LONGITUDE,
];
const TEMPERATURE: &[Key] = &[
    DATE,
    SITE,
    Key(
        "mean_c",
        "the name of the column of daily means in degrees Celsius, or mean, or min and max",
    ),
    Key("mean", "the name of the column of daily means"),
    Key("min", "the name of the column of daily minima"),
    Key("max", "the name of the column of daily maxima"),
    YEAR_COLUMN,
    MONTH_COLUMN,
    DAY_COLUMN,
];

/// Only asks whether there is a site column; the kind's own reader notes what is wrong.
pub(super) fn has_site(section: &Section<'_>) -> bool {
    section.has_in("columns", "site") || section.has_in("columns", meaning::LATITUDE.0)
}

pub(super) fn counts(
    section: &Section<'_>,
    fully_reported: bool,
    tokens: CountTokens,
    wide: Option<&Wide>,
) -> Option<CountColumns> {
    let columns = columns(section, COUNTS)?;
    let species = match wide {
        Some(Wide::Species) => across(&columns, &["species", "genus", "epithet"], ACROSS_SPECIES)
            .map(SpeciesColumns::One),
        _ => species(&columns),
    };
    let date = date(&columns, wide);
    let count = match wide {
        Some(_) => across(&columns, &["count"], ACROSS_VALUE),
        None => name(&columns, "count"),
    };
    Some(CountColumns {
        date: date?,
        site: name(&columns, "site"),
        species: species?,
        count,
        effort: name(&columns, "effort"),
        fully_reported,
        tokens,
    })
}

pub(super) fn visits(section: &Section<'_>) -> Option<VisitColumns> {
    let columns = columns(section, VISITS)?;
    Some(VisitColumns {
        date: need_name(&columns, "date")?,
        site: name(&columns, "site"),
        effort: name(&columns, "effort"),
    })
}

pub(super) fn temperature(
    section: &Section<'_>,
    wide: Option<&Wide>,
) -> Option<TemperatureColumns> {
    let columns = columns(section, TEMPERATURE)?;
    let unit = section.choice("unit", &UNITS).unwrap_or_default();
    let date = date(&columns, wide);
    let mean = match wide {
        Some(_) => across(&columns, &["mean_c", "mean", "min", "max"], ACROSS_VALUE),
        None => mean(&columns, unit),
    };
    let extremes = extremes(&columns).filter(|_| wide.is_none());
    let keys = ["mean", "mean_c", "min", "max"];
    if wide.is_none() && !keys.iter().any(|key| columns.has(key)) {
        columns.need("mean_c");
    }
    Some(TemperatureColumns {
        date: date?,
        site: name(&columns, "site"),
        mean,
        extremes,
        unit,
    })
}

/// The columns that a Darwin Core Archive is read as.
pub(super) fn darwin_core(
    section: &Section<'_>,
    kind: Kind,
    tokens: impl FnOnce(&Section<'_>) -> CountTokens,
) -> Option<SourceKind> {
    let site = |column: &str| (!section.has("site")).then(|| column.to_owned());
    match kind {
        Kind::Counts => {
            let [date, place, species, count, effort, _] = DARWIN_CORE_COUNTS;
            Some(SourceKind::Counts(CountColumns {
                date: date.to_owned(),
                site: site(place),
                species: SpeciesColumns::One(species.to_owned()),
                count: Some(count.to_owned()),
                effort: Some(effort.to_owned()),
                fully_reported: section.flag("fully_reported"),
                tokens: tokens(section),
            }))
        }
        Kind::Visits => {
            let [date, place, effort] = DARWIN_CORE_VISITS;
            Some(SourceKind::Visits(VisitColumns {
                date: date.to_owned(),
                site: site(place),
                effort: Some(effort.to_owned()),
            }))
        }
        Kind::Temperature => None,
    }
}

const UNITS: [(&str, TemperatureUnit); 2] = [
    ("C", TemperatureUnit::Celsius),
    ("F", TemperatureUnit::Fahrenheit),
];

/// `mean_c` says its unit itself.
fn mean(columns: &Section<'_>, unit: TemperatureUnit) -> Option<String> {
    if columns.has("mean_c") && (columns.has("mean") || unit != TemperatureUnit::Celsius) {
        let message = format!(
            "mean_c in {} is in degrees Celsius, and mean or unit says otherwise; expected mean alone",
            columns.title()
        );
        columns.refuse_key("mean_c", message);
        return None;
    }
    name(columns, "mean_c").or_else(|| name(columns, "mean"))
}

fn extremes(columns: &Section<'_>) -> Option<(String, String)> {
    if columns.has("min") != columns.has("max") {
        columns.refuse_here(format!(
            "{} have one of min and max; expected both",
            columns.title()
        ));
    }
    name(columns, "min").zip(name(columns, "max"))
}

/// The table of columns; notes a column that is to serve two ends.
fn columns<'d>(section: &Section<'d>, keys: &'static [Key]) -> Option<Section<'d>> {
    section.need("columns")?;
    let columns = section.section("columns", keys)?;
    let mut used: Vec<(&str, String)> = Vec::new();
    for Key(key, _) in keys {
        let Some(column) = columns.quietly(key) else {
            continue;
        };
        match used.iter().find(|(_, other)| other == column) {
            Some((other, _)) => {
                let message = format!(
                    "column {column:?} is used for both {other} and {key} in {}",
                    columns.title()
                );
                columns.refuse_key(key, message);
            }
            None => used.push((key, column.to_owned())),
        }
    }
    Some(columns)
}

/// What the cells of a wide table give, so that no column of the file does.
fn across(columns: &Section<'_>, keys: &[&str], name: &str) -> Option<String> {
    for key in keys.iter().filter(|key| columns.has(key)) {
        let message = format!(
            "{key} in {} stands in the header of a wide table or in its cells; leave it out",
            columns.title()
        );
        columns.refuse_key(key, message);
    }
    Some(name.to_owned())
}

fn date(columns: &Section<'_>, wide: Option<&Wide>) -> Option<String> {
    match wide.filter(|wide| wide.gives_dates()) {
        Some(_) => across(columns, &["date"], ACROSS_DATE),
        None => need_name(columns, "date"),
    }
}

fn species(columns: &Section<'_>) -> Option<SpeciesColumns> {
    match ["species", "genus", "epithet"].map(|key| columns.has(key)) {
        [true, false, false] => name(columns, "species").map(SpeciesColumns::One),
        [false, true, true] => {
            let (genus, epithet) = (name(columns, "genus"), name(columns, "epithet"));
            Some(SpeciesColumns::GenusEpithet(genus?, epithet?))
        }
        [has_species, ..] => {
            let fault = if has_species {
                "have species and also genus or epithet"
            } else {
                "do not say where the species stands"
            };
            columns.refuse_here(format!(
                "{} {fault}; expected either species, or genus and epithet",
                columns.title()
            ));
            None
        }
    }
}

fn name(columns: &Section<'_>, key: &str) -> Option<String> {
    columns.text(key).map(Spanned::into_inner)
}

fn need_name(columns: &Section<'_>, key: &str) -> Option<String> {
    columns.need_text(key).map(Spanned::into_inner)
}
