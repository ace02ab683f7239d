//! What a source says of its rows: purpose, observers, nights, distances, words.

use super::Kind;
use super::layout::DARWIN_CORE_COUNTS;
use crate::meaning::{Meaning, MoreColumns, Night, ObserverRule, Purpose, WITHIN_KM, Words};
use crate::raw::{Key, Section};
use toml::Spanned;

/// Further keys of `columns` of counts and visits.
pub(super) const PURPOSE: Key = Key(
    "purpose",
    "the name of the column with the purpose of a visit",
);
pub(super) const REPORTED: Key = Key(
    "fully_reported",
    "the name of the column that tells whether a visit was fully reported",
);
pub(super) const OBSERVER: Key = Key("observer", "the name of the column with the observer");
pub(super) const LATITUDE: Key = Key("latitude", "the name of the column of degrees north");
pub(super) const LONGITUDE: Key = Key("longitude", "the name of the column of degrees east");
pub(super) const STATUS: Key = Key(
    "status",
    "the name of the column that tells present from absent",
);
pub(super) const AGE: Key = Key("age", "the name of the age column");
pub(super) const SEX: Key = Key("sex", "the name of the sex column");
pub(super) const PLUMAGE: Key = Key("plumage", "the name of the plumage column");
pub(super) const QUALIFIER: Key = Key(
    "qualifier",
    "the name of the column with doubts about the species",
);

/// Keys of a `[[source]]` that are read here.
pub(super) const PURPOSE_OF_ALL: Key = Key("purpose", "standard or targeted");
pub(super) const OBSERVERS: Key = Key(
    "observers",
    "add, where they saw different birds, or largest, where they saw the same",
);
pub(super) const WITHIN: Key = Key(
    "within_km",
    "the greatest distance of a row from its site, km, a number above 0",
);
pub(super) const NIGHT: Key = Key("night", "evening or morning");
pub(super) const WORDS: Key = Key(
    "words",
    r#"the file's words for purpose and the like, such as { targeted = ["twitch"] }"#,
);

const LIST: &str = r#"a list of words, such as ["yes"]"#;
const WORD_KEYS: &[Key] = &[
    Key("standard", LIST),
    Key("targeted", LIST),
    Key("yes", LIST),
    Key("no", LIST),
    Key("absent", LIST),
    Key("present", LIST),
    Key("totals", LIST),
];

const PURPOSES: [(&str, Purpose); 2] = [
    ("standard", Purpose::Standard),
    ("targeted", Purpose::Targeted),
];
const RULES: [(&str, ObserverRule); 2] = [
    ("add", ObserverRule::Add),
    ("largest", ObserverRule::Largest),
];
const NIGHTS: [(&str, Night); 2] = [("evening", Night::Evening), ("morning", Night::Morning)];

/// English, German, French, Spanish, Italian, Dutch, Portuguese, Scandinavian, Polish, Finnish, and
/// the signs for a sum.
const TOTALS: &[&str] = &[
    "total",
    "totals",
    "subtotal",
    "sub-total",
    "grand total",
    "sum",
    "sums",
    "summe",
    "summen",
    "gesamt",
    "gesamtsumme",
    "zwischensumme",
    "insgesamt",
    "totaux",
    "somme",
    "totales",
    "suma",
    "totale",
    "somma",
    "totaal",
    "totais",
    "soma",
    "summa",
    "totalt",
    "i alt",
    "razem",
    "yhteens\u{e4}",
    "\u{3a3}",
    "\u{2211}",
];

impl Default for Words {
    /// Words in common use, no source; absent and present are Darwin Core's `occurrenceStatus`.
    /// Words of totals in the languages that headers are known in.
    fn default() -> Self {
        let own = |words: &[&str]| words.iter().map(|w| (*w).to_owned()).collect();
        Words {
            standard: own(&["standard", "survey", "count"]),
            targeted: own(&["targeted", "target", "search"]),
            yes: own(&["yes", "y", "true", "1", "complete"]),
            no: own(&["no", "n", "false", "0", "incomplete"]),
            absent: own(&["absent"]),
            present: own(&["present"]),
            totals: own(TOTALS),
        }
    }
}

/// `archive` is what a Darwin Core Archive is read for.
pub(super) fn read(section: &Section<'_>, archive: Option<Kind>) -> Meaning {
    let columns = section.quiet_section("columns");
    let meaning = Meaning {
        columns: columns.map_or_else(MoreColumns::default, |columns| more_columns(&columns)),
        words: words(section),
        purpose: section.choice("purpose", &PURPOSES),
        observers: observers(section),
        within_km: within_km(section, archive.is_some()),
        night: section.choice("night", &NIGHTS),
    };
    match archive {
        Some(Kind::Counts) => of_archive(meaning),
        _ => meaning,
    }
}

/// The counts of an archive say of each event whether it was fully reported, in words of their own.
fn of_archive(mut meaning: Meaning) -> Meaning {
    let [.., reported] = DARWIN_CORE_COUNTS;
    meaning.columns.fully_reported = Some(reported.to_owned());
    meaning.words.yes = vec![true.to_string()];
    meaning.words.no = vec![false.to_string()];
    meaning
}

/// Keys that say nothing without a column are refused: they were meant for something.
fn observers(section: &Section<'_>) -> Option<ObserverRule> {
    let rule = section.choice("observers", &RULES)?;
    needs_column(section, "observers", "observer");
    Some(rule)
}

fn needs_column(section: &Section<'_>, key: &str, column: &str) {
    if !section.has_in("columns", column) {
        let title = section.title();
        section.refuse_key(
            key,
            format!("{key} in {title} needs {column} in its columns; name that column, or leave {key} out"),
        );
    }
}

/// An archive's events have coordinates of their own.
fn within_km(section: &Section<'_>, is_archive: bool) -> f64 {
    let Some(km) = section.number("within_km") else {
        return WITHIN_KM;
    };
    if !is_archive {
        needs_column(section, "within_km", "latitude");
    }
    if *km.get_ref() <= 0.0 {
        section.refuse_value("within_km", &km);
    }
    km.into_inner()
}

/// Quietly: the reader of the kind's columns has noted what is wrong with them.
fn more_columns(columns: &Section<'_>) -> MoreColumns {
    let name = |key| columns.quietly(key).map(str::to_owned);
    if columns.has("site") && columns.has(LATITUDE.0) {
        columns.refuse_here(format!(
            "{} have both site and latitude; expected the one that says where a row is from",
            columns.title()
        ));
    }
    let coordinates = match [LATITUDE.0, LONGITUDE.0].map(|key| columns.has(key)) {
        [true, true] => name(LATITUDE.0).zip(name(LONGITUDE.0)),
        [false, false] => None,
        _ => {
            columns.refuse_here(format!(
                "{} have one of latitude and longitude; expected both",
                columns.title()
            ));
            None
        }
    };
    MoreColumns {
        purpose: name(PURPOSE.0),
        fully_reported: name(REPORTED.0),
        observer: name(OBSERVER.0),
        status: name(STATUS.0),
        age: name(AGE.0),
        sex: name(SEX.0),
        plumage: name(PLUMAGE.0),
        qualifier: name(QUALIFIER.0),
        coordinates,
    }
}

fn words(section: &Section<'_>) -> Words {
    let default = Words::default();
    let Some(section) = section.section("words", WORD_KEYS) else {
        return default;
    };
    let list = |key, default| match section.texts(key, false) {
        Some(words) => words.into_iter().map(Spanned::into_inner).collect(),
        None => default,
    };
    let words = Words {
        standard: list("standard", default.standard),
        targeted: list("targeted", default.targeted),
        yes: list("yes", default.yes),
        no: list("no", default.no),
        absent: list("absent", default.absent),
        present: list("present", default.present),
        totals: list("totals", default.totals),
    };
    for (a, b, names) in [
        (&words.standard, &words.targeted, "standard and targeted"),
        (&words.yes, &words.no, "yes and no"),
        (&words.absent, &words.present, "absent and present"),
    ] {
        refuse_shared(&section, a, b, names);
    }
    words
}

fn refuse_shared(section: &Section<'_>, a: &[String], b: &[String], names: &str) {
    use crate::nearest::folded;
    let shared = a.iter().find(|w| b.iter().any(|o| folded(o) == folded(w)));
    if let Some(word) = shared {
        section.refuse_here(format!(
            "{word:?} stands for both {names} in {}; expected one of them",
            section.title()
        ));
    }
}
