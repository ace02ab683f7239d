//! Which columns a source of each kind has.

use crate::raw::{Key, Section};
use crate::settings::{
    CountColumns, CountTokens, SpeciesColumns, TemperatureColumns, VisitColumns,
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
];
const VISITS: &[Key] = &[DATE, SITE, EFFORT];
const TEMPERATURE: &[Key] = &[
    DATE,
    SITE,
    Key(
        "mean_c",
        "the name of the column of daily means in degrees Celsius",
    ),
];

/// Only asks whether there is a site column; the kind's own reader notes what is wrong.
pub(super) fn has_site(section: &Section<'_>) -> bool {
    section.has_in("columns", "site")
}

pub(super) fn counts(
    section: &Section<'_>,
    fully_reported: bool,
    tokens: CountTokens,
) -> Option<CountColumns> {
    let columns = columns(section, COUNTS)?;
    let species = species(&columns);
    let date = need_name(&columns, "date");
    Some(CountColumns {
        date: date?,
        site: name(&columns, "site"),
        species: species?,
        count: name(&columns, "count"),
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

pub(super) fn temperature(section: &Section<'_>) -> Option<TemperatureColumns> {
    let columns = columns(section, TEMPERATURE)?;
    let (date, mean_c) = (need_name(&columns, "date"), need_name(&columns, "mean_c"));
    Some(TemperatureColumns {
        date: date?,
        site: name(&columns, "site"),
        mean_c: mean_c?,
    })
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
