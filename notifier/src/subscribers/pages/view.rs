//! Choices as a form shows them, and in words.

use crate::dates::DateStyle;
use crate::subscribers::{Choices, Frequency, Offer};
use crate::words;
use serde::Serialize;
use std::collections::BTreeSet;

/// A box to tick, or an entry of a list.
#[derive(Debug, Serialize)]
struct Choice {
    value: String,
    words: String,
    /// The scientific name, where the words are another.
    beside: Option<String>,
    chosen: bool,
}

/// The fields of a form.
#[derive(Debug, Serialize)]
pub(super) struct Fields {
    sites: Vec<Choice>,
    sets: Vec<Choice>,
    species: Vec<Choice>,
    openings: bool,
    languages: Vec<Choice>,
    dates: Vec<Choice>,
    /// Species are chosen one by one, so that their list is to be seen.
    open: bool,
}

impl Fields {
    /// With what is chosen so far.
    pub(super) fn of(offer: &Offer, chosen: &Choices) -> Self {
        let own = chosen.language.as_deref().unwrap_or(&offer.language);
        let languages = offer.languages.iter().map(|tag| Choice {
            value: tag.clone(),
            words: Offer::language_name(tag).to_owned(),
            beside: None,
            chosen: tag == own,
        });
        let dates = DateStyle::ALL.map(|style| Choice {
            value: style.name().to_owned(),
            words: style.example().to_owned(),
            beside: None,
            chosen: style == chosen.dates,
        });
        let mut species = boxes(&offer.species, &chosen.species);
        for one in &mut species {
            one.beside = (one.words != one.value).then(|| one.value.clone());
        }
        Fields {
            sites: boxes(&offer.sites, &chosen.sites),
            sets: boxes(&offer.sets, &chosen.sets),
            species,
            openings: chosen.frequency == Frequency::Openings,
            languages: languages.collect(),
            dates: dates.into(),
            open: !chosen.species.is_empty(),
        }
    }
}

fn boxes(all: &[(String, String)], chosen: &BTreeSet<String>) -> Vec<Choice> {
    let choice = |(value, words): &(String, String)| Choice {
        value: value.clone(),
        words: words.clone(),
        beside: None,
        chosen: chosen.contains(value),
    };
    all.iter().map(choice).collect()
}

/// What is chosen, a line each.
pub(super) fn lines(offer: &Offer, chosen: &Choices) -> Vec<(&'static str, String)> {
    let about = match (
        named(&offer.sets, &chosen.sets),
        named(&offer.species, &chosen.species),
    ) {
        (sets, species) if sets.is_empty() && species.is_empty() => "all of them".to_owned(),
        (sets, species) => words::list(&[sets, species].concat()),
    };
    let sites = match named(&offer.sites, &chosen.sites) {
        all if all.is_empty() => "all of them".to_owned(),
        some => words::list(&some),
    };
    let often = match chosen.frequency {
        Frequency::Weekly => "every week",
        Frequency::Openings => "only when a window opens or look-alikes begin to overlap",
    };
    let language = chosen.language.as_deref().unwrap_or(&offer.language);
    vec![
        ("Sites", sites),
        ("Look-alikes and species", about),
        ("How often", often.to_owned()),
        ("Names", Offer::language_name(language).to_owned()),
        ("Dates", format!("as {}", chosen.dates.example())),
    ]
}

fn named(all: &[(String, String)], chosen: &BTreeSet<String>) -> Vec<String> {
    let some = all.iter().filter(|(value, _)| chosen.contains(value));
    some.map(|(_, words)| words.clone()).collect()
}
