//! `[[species]]`: the scientific name, and all other names by which the files may call it.

use crate::meaning::DatedName;
use crate::nearest::folded;
use crate::raw::{Key, Section};
use crate::sensitive::{self, COARSEN_KM, SENSITIVE};
use crate::settings::Species;
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap};
use toml::Spanned;

pub(crate) const SCIENTIFIC: &str = r#"genus and epithet such as "Calidris minuta""#;
pub(crate) const NAMES: &str = r#"a name for each language, such as { en = "Little Stint" }"#;

const KEYS: &[Key] = &[
    Key("scientific", SCIENTIFIC),
    Key("names", NAMES),
    Key(
        "also",
        r#"a list of other names in your files, such as ["Lit Stint"]"#,
    ),
    Key("synonyms", SYNONYMS),
    SENSITIVE,
    COARSEN_KM,
];

const SYNONYMS: &str =
    r#"names of part of the time, such as [{ name = "Tringa minuta", until = "1950-12-31" }]"#;
const DAY: &str = r#"a date such as "2014-12-31""#;
const SYNONYM_KEYS: &[Key] = &[
    Key("name", "a name that meant the species for part of the time"),
    Key("since", DAY),
    Key("until", DAY),
];

/// Names taken so far: name as compared -> accepted scientific name and line.
type Taken = HashMap<String, (String, usize)>;

/// Every `[[species]]` of the file.
pub(crate) fn read(top: &Section<'_>) -> Vec<Species> {
    let mut taken = Taken::new();
    let sections = top.sections("species", KEYS);
    let species: Vec<Species> = sections
        .iter()
        .filter_map(|s| read_one(s, &mut taken))
        .collect();
    refuse_overlaps(top, &species);
    species
}

fn read_one(section: &Section<'_>, taken: &mut Taken) -> Option<Species> {
    let scientific = section.need_text("scientific");
    let names = section.pairs("names");
    let also = section.texts("also", false).unwrap_or_default();
    let sensitive = sensitive::read(section);
    let synonyms = synonyms(section);
    let scientific = scientific_name(section, "scientific", &scientific?)?;
    if !claim(section, taken, &scientific, &scientific) {
        return None;
    }
    for name in names.iter().map(|(_, name)| name).chain(&also) {
        claim(section, taken, name, &scientific);
    }
    Some(Species {
        scientific: scientific.into_inner(),
        names: by_language(section, names),
        also: also.into_iter().map(Spanned::into_inner).collect(),
        sensitive,
        synonyms,
        written: true,
    })
}

/// Names of part of the time; each needs a first or last date, else it is one of `also`.
fn synonyms(section: &Section<'_>) -> Vec<DatedName> {
    let sections = section.sections("synonyms", SYNONYM_KEYS);
    sections.iter().filter_map(synonym).collect()
}

fn synonym(section: &Section<'_>) -> Option<DatedName> {
    let name = section.need_text("name").map(Spanned::into_inner);
    let (since, until) = (day(section, "since"), day(section, "until"));
    if !section.has("since") && !section.has("until") {
        section.refuse_here(format!(
            "{} has neither since nor until; expected one of them, or the name in `also`",
            section.title()
        ));
    }
    if let (Some(since), Some(until)) = (since, until)
        && until < since
    {
        section.refuse_key(
            "until",
            format!("until in {} is before since", section.title()),
        );
    }
    let read = |key, day: Option<NaiveDate>| day.is_some() || !section.has(key);
    // Where a date cannot be read, nothing is known of when the name held.
    let known =
        read("since", since) && read("until", until) && (since.is_some() || until.is_some());
    known.then_some(DatedName {
        name: name?,
        since,
        until,
    })
}

fn day(section: &Section<'_>, key: &str) -> Option<NaiveDate> {
    let text = section.text(key)?;
    let date = text.get_ref().parse().ok();
    if date.is_none() {
        section.refuse_value(key, &text);
    }
    date
}

/// One name may not mean two species on one date.
fn refuse_overlaps(top: &Section<'_>, species: &[Species]) {
    let all = || {
        species
            .iter()
            .flat_map(|s| s.synonyms.iter().map(move |n| (s, n)))
    };
    for (place, (a, name)) in all().enumerate() {
        let other = all().take(place).find(|(b, other)| {
            folded(&other.name) == folded(&name.name)
                && b.scientific != a.scientific
                && other.overlaps(name)
        });
        if let Some((b, _)) = other {
            top.refuse_here(format!(
                "the synonym {:?} means both {} and {} on some dates; expected dates that do not overlap",
                name.name, b.scientific, a.scientific
            ));
        }
    }
}

/// Takes the name for the species; false, and noted, where another entry has it.
fn claim(
    section: &Section<'_>,
    taken: &mut Taken,
    name: &Spanned<String>,
    scientific: &Spanned<String>,
) -> bool {
    let line = section.doc().line(scientific.span().start);
    let ours = (scientific.get_ref().clone(), line);
    let holder = taken
        .entry(folded(name.get_ref()))
        .or_insert_with(|| ours.clone())
        .clone();
    if holder == ours {
        return true;
    }
    let (species, line) = holder;
    let message = match species == ours.0 && name.get_ref() == scientific.get_ref() {
        true => format!("{species} is a [[species]] already in line {line}"),
        false => format!(
            "the name {:?} of {} is already a name of {species} in line {line}",
            name.get_ref(),
            ours.0
        ),
    };
    section.refuse(name, message, None);
    false
}

/// Vernacular names by language; the language is a primary tag of BCP 47.
pub(crate) fn by_language(
    section: &Section<'_>,
    names: Vec<(Spanned<String>, Spanned<String>)>,
) -> BTreeMap<String, String> {
    for (tag, _) in names.iter().filter(|(tag, _)| !is_language(tag.get_ref())) {
        let message = format!(
            r#"language {:?} in names of {}; expected a tag such as "en" or "de""#,
            tag.get_ref(),
            section.title()
        );
        section.refuse(tag, message, None);
    }
    let own =
        |(tag, name): (Spanned<String>, Spanned<String>)| (tag.into_inner(), name.into_inner());
    names.into_iter().map(own).collect()
}

/// Two or three small letters (BCP 47: ISO 639 codes).
pub(crate) fn is_language(tag: &str) -> bool {
    (2..=3).contains(&tag.len()) && tag.bytes().all(|b| b.is_ascii_lowercase())
}

/// The name where it is well formed; else noted, with the right writing where case or blanks
/// alone are wrong. Names are not mended silently: a setting says exactly what it means.
pub(crate) fn scientific_name(
    section: &Section<'_>,
    key: &str,
    name: &Spanned<String>,
) -> Option<Spanned<String>> {
    if is_scientific(name.get_ref()) {
        return Some(name.clone());
    }
    let message = format!(
        "{key} in {} is {:?}; expected {SCIENTIFIC}",
        section.title(),
        name.get_ref()
    );
    let mended = in_right_case(name.get_ref());
    let hint = is_scientific(&mended).then(|| format!("write {mended:?}"));
    section.refuse(name, message, hint);
    None
}

/// Two words: a genus with a capital, an epithet in small letters that may hold a hyphen
/// (International Code of Zoological Nomenclature, articles 5, 11 and 28).
fn is_scientific(name: &str) -> bool {
    let Some((genus, epithet)) = name.split_once(' ') else {
        return false;
    };
    let small = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_lowercase());
    let capital = genus.starts_with(|c: char| c.is_ascii_uppercase());
    capital && small(&genus[1..]) && epithet.len() >= 2 && epithet.split('-').all(small)
}

fn in_right_case(name: &str) -> String {
    let name = folded(&name.replace('_', " "));
    let mut letters = name.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scientific_names_are_two_words() {
        for good in ["Calidris minuta", "Io io", "Polygonia c-album"] {
            assert!(is_scientific(good), "{good}");
        }
        for bad in [
            "calidris minuta",
            "Calidris",
            "Calidris Minuta",
            "Calidris alpina schinzii",
            "Calidris  minuta",
            "Calidris -",
            "C. minuta",
            "Ö b",
            "",
        ] {
            assert!(!is_scientific(bad), "{bad}");
        }
    }
}
