//! Age, sex and plumage of the birds of a row, kept beside their count.

use super::Reading;
use crate::cell::tidy;
use crate::error::LoadError;
use crate::mapping::Finder;
use crate::read::rows::Row;
use config::look_alikes::Plumage;
use config::nearest::folded;
use std::collections::HashMap;

/// How the birds of a row looked, as written; empty where it is not.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub(crate) struct Looks {
    pub(crate) age: String,
    pub(crate) sex: String,
    pub(crate) plumage: String,
}

/// Words of field notes besides the library's own names, in common use, no source. Calendar years
/// of age are left out: what a second-calendar-year bird wears depends on the month.
const ALSO: &[(&str, Plumage)] = &[
    ("juv", Plumage::Juvenile),
    ("1st winter", Plumage::FirstWinter),
    ("1w", Plumage::FirstWinter),
    ("1st summer", Plumage::FirstSummer),
    ("1s", Plumage::FirstSummer),
    ("imm", Plumage::Immature),
    ("ad", Plumage::Adult),
    ("adult summer", Plumage::AdultBreeding),
    ("breeding", Plumage::AdultBreeding),
    ("summer plumage", Plumage::AdultBreeding),
    ("adult winter", Plumage::AdultNonBreeding),
    ("non breeding", Plumage::AdultNonBreeding),
    ("winter plumage", Plumage::AdultNonBreeding),
    ("m", Plumage::Male),
    ("\u{2642}", Plumage::Male),
    ("f", Plumage::Female),
    ("\u{2640}", Plumage::Female),
];

impl Looks {
    /// The library's plumage that the words stand for: the plumage as written, else the age, with
    /// the sex where the library has that; else the sex alone. None where they stand for none.
    pub(crate) fn term(&self) -> Option<Plumage> {
        let base = [&self.plumage, &self.age].into_iter().find_map(|w| term(w));
        let sex = term(&self.sex).filter(|s| [Plumage::Male, Plumage::Female].contains(s));
        let both = base
            .zip(sex)
            .map(|(b, s)| format!("{}-{}", b.name(), s.name()));
        both.and_then(|name| named(&name)).or(base).or(sex)
    }
}

fn named(name: &str) -> Option<Plumage> {
    let found = Plumage::NAMES.iter().find(|(own, _)| *own == name);
    found.map(|(_, plumage)| *plumage)
}

fn term(word: &str) -> Option<Plumage> {
    let word = folded(&word.replace('-', " "));
    let word = word.trim_end_matches('.');
    let also = ALSO.iter().find(|(name, _)| *name == word);
    named(&word.replace(' ', "-")).or(also.map(|(_, plumage)| *plumage))
}

/// The columns of age, sex and plumage, as far as the source has them.
pub(crate) struct LooksColumns {
    columns: [Option<usize>; 3],
    places: HashMap<Looks, u32>,
    pub(crate) all: Vec<Looks>,
}

impl LooksColumns {
    pub(crate) fn new(reading: &Reading<'_>, finder: &mut Finder<'_>) -> Result<Self, LoadError> {
        let columns = &reading.source.meaning.columns;
        Ok(LooksColumns {
            columns: [
                finder.optional("age", columns.age.as_ref())?,
                finder.optional("sex", columns.sex.as_ref())?,
                finder.optional("plumage", columns.plumage.as_ref())?,
            ],
            places: HashMap::from([(Looks::default(), 0)]),
            all: vec![Looks::default()],
        })
    }

    /// Place of the row's looks among all.
    pub(crate) fn read(&mut self, row: &Row<'_>) -> u32 {
        if self.columns == [None; 3] {
            return 0;
        }
        let [age, sex, plumage] = self.columns.map(|column| {
            let cell = column.and_then(|c| row.cells.get(c)).unwrap_or_default();
            tidy(&String::from_utf8_lossy(cell)).0.trim().to_owned()
        });
        let looks = Looks { age, sex, plumage };
        let next = self.all.len() as u32;
        let place = *self.places.entry(looks.clone()).or_insert(next);
        if place == next {
            self.all.push(looks);
        }
        place
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_the_library() {
        let cases = [
            ("juv.", "", "", Some("juvenile")),
            ("Adult", "M", "", Some("adult")),
            ("", "f.", "", Some("female")),
            ("adult", "m", "adult summer", Some("adult-breeding-male")),
            ("First-Winter", "", "moulting", Some("first-winter")),
            ("adult", "", "adult  summer", Some("adult-breeding")),
            ("1W", "f", "", Some("first-winter-female")),
            ("2cy", "", "", None),
            ("", "", "", None),
        ];
        for (age, sex, plumage, expected) in cases {
            let [age, sex, plumage] = [age, sex, plumage].map(str::to_owned);
            let looks = Looks { age, sex, plumage };
            assert_eq!(looks.term().map(Plumage::name), expected, "{looks:?}");
        }
    }
}
