//! `[[site]]`: where birds are counted.

use crate::half_years;
use crate::ids::Ids;
use crate::look_alikes::regions::read_region;
use crate::raw::{Key, Section, did_you_mean};
use crate::sensitive::{self, COARSEN_KM, SENSITIVE};
use crate::settings::{Site, Species};
use crate::species::scientific_name;
use chrono::NaiveDate;
use chrono_tz::{TZ_VARIANTS, Tz};
use std::collections::BTreeMap;
use toml::Spanned;
use toml::de::DeValue;

const KEYS: &[Key] = &[
    Key("id", crate::ID),
    Key("name", "the site's full name"),
    Key("latitude", "degrees north from -90 to 90, such as 54.63"),
    Key("longitude", "degrees east from -180 to 180, such as -0.41"),
    Key("time_zone", r#"an IANA time zone such as "Europe/London""#),
    Key("region", REGIONS_WANTED),
    Key(
        "standard_effort",
        "the effort of a standard visit, a number above 0",
    ),
    Key(
        "cautions",
        "words for the digest: access, tides, what not to disturb",
    ),
    Key("cuts", CUTS),
    half_years::GAPS,
    half_years::VISITED,
    SENSITIVE,
    COARSEN_KM,
];

const REGIONS_WANTED: &str =
    r#"the part of the world whose plumages hold here, such as "western-palearctic""#;
const CUTS: &str = r#"dates between passages for each species, such as { "Calidris alpina" = ["01-20", "06-20"] }"#;

/// Every `[[site]]` of the file, at least one.
pub(crate) fn read(top: &Section<'_>, ids: &mut Ids, species: &[Species]) -> Vec<Site> {
    if top.need("site").is_none() {
        return Vec::new();
    }
    let sections = top.sections("site", KEYS);
    if sections.is_empty() {
        top.need_items("site");
    }
    let read_one = |section| read_one(section, ids, species);
    sections.iter().filter_map(read_one).collect()
}

fn read_one(section: &Section<'_>, ids: &mut Ids, species: &[Species]) -> Option<Site> {
    // Everything is read before anything is given up, so that every problem is told.
    let id = ids.take(section).filter(|_| is_free(section));
    let name = section.need_text("name").map(Spanned::into_inner);
    let latitude = section.need_number_in("latitude", -90.0..=90.0);
    let longitude = section.need_number_in("longitude", -180.0..=180.0);
    let time_zone = time_zone(section);
    let region = section
        .need_text("region")
        .and_then(|r| read_region(section, &r));
    let standard_effort = standard_effort(section);
    let cautions = section.paragraph("cautions");
    let cuts = cuts(section, species);
    let half_years = half_years::read(section);
    let sensitive = sensitive::read(section);
    Some(Site {
        id: id?,
        name: name?,
        latitude: latitude?,
        longitude: longitude?,
        time_zone: time_zone?,
        region: region?,
        standard_effort,
        cautions,
        cuts,
        half_years,
        sensitive,
    })
}

/// Paths of the service's other pages, which a site of that id would never be seen behind.
const TAKEN: [&str; 10] = [
    "api",
    "choices",
    "confirm",
    "health",
    "keeper",
    "leave",
    "metrics",
    "plan",
    "practice",
    "subscribe",
];

fn is_free(section: &Section<'_>) -> bool {
    let Some(id) = section.need_text("id") else {
        return true;
    };
    let taken = TAKEN.contains(&id.get_ref().as_str());
    if taken {
        let message = format!(
            "id {:?} of {} is the address of another page of the service; choose another id",
            id.get_ref(),
            section.title()
        );
        section.refuse(&id, message, None);
    }
    !taken
}

fn time_zone(section: &Section<'_>) -> Option<Tz> {
    zone(section, &section.need_text("time_zone")?)
}

/// The time zone of that name; else noted under `time_zone`, with the nearest.
pub(crate) fn zone(section: &Section<'_>, name: &Spanned<String>) -> Option<Tz> {
    if let Ok(zone) = name.get_ref().parse() {
        return Some(zone);
    }
    let message = format!(
        "unknown time_zone {:?} in {}; expected an IANA time zone such as \"Europe/London\"",
        name.get_ref(),
        section.title()
    );
    section.refuse(
        name,
        message,
        did_you_mean(name.get_ref(), TZ_VARIANTS.iter().map(|zone| zone.name())),
    );
    None
}

fn standard_effort(section: &Section<'_>) -> Option<f64> {
    let effort = section.number("standard_effort")?;
    if *effort.get_ref() > 0.0 {
        return Some(effort.into_inner());
    }
    section.refuse_value("standard_effort", &effort);
    None
}

/// Cuts by accepted scientific name, each list in the order of the year.
fn cuts(section: &Section<'_>, species: &[Species]) -> BTreeMap<String, Vec<(u8, u8)>> {
    let mut cuts = BTreeMap::new();
    for (name, dates) in section.entries("cuts") {
        let days = cut_days(section, dates);
        if let Some(scientific) = cut_species(section, &name, species) {
            cuts.insert(scientific, days);
        }
    }
    cuts
}

fn cut_species(
    section: &Section<'_>,
    name: &Spanned<String>,
    species: &[Species],
) -> Option<String> {
    let name = scientific_name(section, "cuts", name)?;
    if species.is_empty() || species.iter().any(|s| s.scientific == *name.get_ref()) {
        return Some(name.into_inner());
    }
    let message = format!(
        "cuts in {} are for {:?}; expected the scientific name of a [[species]]",
        section.title(),
        name.get_ref()
    );
    section.refuse(
        &name,
        message,
        did_you_mean(
            name.get_ref(),
            species.iter().map(|s| s.scientific.as_str()),
        ),
    );
    None
}

fn cut_days(section: &Section<'_>, dates: &Spanned<DeValue<'_>>) -> Vec<(u8, u8)> {
    let dates = section.texts_of("cuts", dates, false).unwrap_or_default();
    let mut days = Vec::new();
    for date in &dates {
        match month_day(date.get_ref()) {
            None => section.refuse(date, format!("{:?} among the cuts of {} is no date; expected month and day of a common year such as \"06-20\"", date.get_ref(), section.title()), None),
            Some(day) if days.contains(&day) => section.refuse(date, format!("{:?} stands twice among the cuts of one species in {}", date.get_ref(), section.title()), None),
            Some(day) => days.push(day),
        }
    }
    days.sort_unstable();
    days
}

/// Month and day of `MM-DD` in a common year. 29 February is refused: a cut must fall in every year.
fn month_day(text: &str) -> Option<(u8, u8)> {
    let written = text.len() == 5 && text.is_ascii();
    let date = NaiveDate::parse_from_str(&format!("2023-{text}"), "%Y-%m-%d").ok()?;
    let (month, day) = (chrono::Datelike::month(&date), chrono::Datelike::day(&date));
    (written && format!("{month:02}-{day:02}") == text).then_some((month as u8, day as u8))
}
