//! Species names: found among those that `wingtide.toml` lists, or read as scientific names.

use crate::cell::tidy;
use crate::report::RepairKind;
use config::nearest::{folded, nearest};
use config::settings::Species;
use std::collections::HashMap;

/// A name as read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ReadName {
    /// Scientific name, genus and epithet.
    pub(crate) species: String,
    /// Is it one that the workspace lists?
    pub(crate) listed: bool,
    /// What was repaired to read it.
    pub(crate) repairs: Vec<RepairKind>,
}

/// Why a cell names no species.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum NameProblem {
    #[error("empty")]
    Empty,
    #[error("a hybrid, which belongs to no one species")]
    Hybrid,
    #[error("one of several species, not told apart")]
    Slash,
    #[error("a genus without its species")]
    GenusOnly,
    #[error("a doubtful name")]
    Doubtful,
    #[error("stands for both {0} and {1} in wingtide.toml")]
    Ambiguous(String, String),
    #[error("not a scientific name, and wingtide.toml lists no species by it{}", nearest_words(.0))]
    NotAName(Option<String>),
}

impl NameProblem {
    /// A record that may well be sound but belongs to no one species.
    pub(crate) fn is_kept_back(&self) -> bool {
        use NameProblem::*;
        matches!(self, Hybrid | Slash | GenusOnly | Doubtful)
    }
}

fn nearest_words(nearest: &Option<String>) -> String {
    match nearest {
        Some(name) => format!("; the nearest is \"{name}\": add the name to its `also` if meant"),
        None => String::new(),
    }
}

/// The names that the workspace lists.
pub(crate) struct NameBook {
    /// Folded name -> places in `species`; more than one is ambiguous.
    known: HashMap<String, Vec<usize>>,
    /// Names as listed.
    listed: Vec<String>,
    species: Vec<String>,
}

impl NameBook {
    pub(crate) fn new(species: &[Species]) -> Self {
        let mut book = NameBook {
            known: HashMap::new(),
            listed: Vec::new(),
            species: species.iter().map(|s| s.scientific.clone()).collect(),
        };
        for (place, s) in species.iter().enumerate() {
            s.all_names().for_each(|name| book.list(name, place));
        }
        book
    }

    fn list(&mut self, name: &str, place: usize) {
        let (name, _) = tidy(name);
        let places = self.known.entry(folded(&name)).or_default();
        if !places.contains(&place) {
            places.push(place);
        }
        self.listed.push(name.into_owned());
    }

    /// Reads a cell, or genus and epithet joined by a space.
    pub(crate) fn read(&self, cell: &str) -> Result<ReadName, NameProblem> {
        let (name, stray) = tidy(cell);
        let mut read = match self.look_up(&name)? {
            Some(read) => read,
            None => self.scientific(&name)?,
        };
        read.repairs.extend(stray.repairs());
        Ok(read)
    }

    fn look_up(&self, name: &str) -> Result<Option<ReadName>, NameProblem> {
        let Some(places) = self.known.get(&folded(name)) else {
            return Ok(None);
        };
        if let [a, b, ..] = places[..] {
            let (a, b) = (self.species[a].clone(), self.species[b].clone());
            return Err(NameProblem::Ambiguous(a, b));
        }
        let as_listed = self.listed.iter().any(|listed| listed == name);
        Ok(places.first().map(|&place| ReadName {
            species: self.species[place].clone(),
            listed: true,
            repairs: kinds(!as_listed, false),
        }))
    }

    /// A name in the form of a binomial or trinomial.
    fn scientific(&self, name: &str) -> Result<ReadName, NameProblem> {
        kept_back(name)?;
        let words: Vec<&str> = name
            .split(' ')
            .filter(|w| {
                !matches!(
                    w.to_lowercase().as_str(),
                    "ssp." | "subsp." | "ssp" | "subsp"
                )
            })
            .collect();
        let (genus, epithet, subspecies) = match words[..] {
            [genus, epithet] => (genus, epithet, false),
            [genus, epithet, third] if is_trinomial(epithet, third) => (genus, epithet, true),
            _ => return Err(self.not_a_name(name)),
        };
        if !is_genus(genus) || !is_epithet(epithet) {
            return Err(self.not_a_name(name));
        }
        let species = binomial(genus, epithet);
        let repairs = kinds(!name.starts_with(&species), subspecies);
        // A subspecies of a listed species belongs to it, whatever name it is listed by.
        let found = self.look_up(&species)?;
        Ok(ReadName {
            listed: found.is_some(),
            species: found.map_or(species, |f| f.species),
            repairs,
        })
    }

    fn not_a_name(&self, name: &str) -> NameProblem {
        NameProblem::NotAName(self.nearest(name).map(str::to_owned))
    }

    /// The scientific name of the listed species with a name, of whatever kind, that is near.
    pub(crate) fn nearest_species(&self, name: &str) -> Option<&str> {
        let listed = self.nearest(name)?;
        let place = *self.known.get(&folded(listed))?.first()?;
        Some(&self.species[place])
    }

    fn nearest(&self, name: &str) -> Option<&str> {
        nearest(name, self.listed.iter().map(String::as_str))
    }
}

fn kinds(case: bool, subspecies: bool) -> Vec<RepairKind> {
    let all = [
        (case, RepairKind::Case),
        (subspecies, RepairKind::Subspecies),
    ];
    all.into_iter().filter(|k| k.0).map(|k| k.1).collect()
}

fn kept_back(name: &str) -> Result<(), NameProblem> {
    if name.is_empty() {
        return Err(NameProblem::Empty);
    }
    if name.contains('/') {
        return Err(NameProblem::Slash);
    }
    if name.contains('?') {
        return Err(NameProblem::Doubtful);
    }
    for word in name.to_lowercase().split(' ') {
        match word {
            "x" | "\u{d7}" | "hybrid" => return Err(NameProblem::Hybrid),
            "sp" | "sp." | "spp" | "spp." | "spec" | "spec." | "species" => {
                return Err(NameProblem::GenusOnly);
            }
            "cf" | "cf." | "aff" | "aff." | "prob." | "poss." => return Err(NameProblem::Doubtful),
            _ => {}
        }
    }
    Ok(())
}

/// Three capitalised words are a vernacular name, not a trinomial.
fn is_trinomial(epithet: &str, third: &str) -> bool {
    let capitals = |w: &str| w.chars().filter(|c| c.is_uppercase()).count();
    let title = |w: &str| w.starts_with(char::is_uppercase) && capitals(w) == 1;
    is_epithet(third) && !(title(epithet) && title(third))
}

/// Letters alone, two or more (International Code of Zoological Nomenclature, articles 11.8 and 11.9.1).
fn is_genus(word: &str) -> bool {
    word.chars().count() >= 2 && word.chars().all(char::is_alphabetic)
}

/// Letters, two or more, with a hyphen inside where the name has one, as in c-album.
fn is_epithet(word: &str) -> bool {
    let whole = |part: &str| !part.is_empty() && part.chars().all(char::is_alphabetic);
    word.chars().count() >= 2 && word.split('-').all(whole)
}

fn binomial(genus: &str, epithet: &str) -> String {
    let mut letters = genus.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    let rest = letters.flat_map(char::to_lowercase);
    let epithet = epithet.chars().flat_map(char::to_lowercase);
    first.chain(rest).chain([' ']).chain(epithet).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn book() -> NameBook {
        let species = |scientific: &str, en: &str, also: &[&str]| Species {
            scientific: scientific.into(),
            names: BTreeMap::from([("en".into(), en.into())]),
            also: also.iter().map(|a| a.to_string()).collect(),
            sensitive: None,
        };
        NameBook::new(&[
            species(
                "Calidris minuta",
                "Little Stint",
                &["Lit Stint", "stint sp."],
            ),
            species("Calidris temminckii", "Temminck's Stint", &["stint"]),
            species("Calidris alpina", "Dunlin", &["stint"]),
        ])
    }

    fn flags(read: &ReadName) -> String {
        let letter = |kind: &RepairKind| match kind {
            RepairKind::Case => 'c',
            RepairKind::Spaces => 's',
            RepairKind::Tabs => 't',
            RepairKind::Subspecies => 'u',
            other => panic!("{other:?}"),
        };
        read.repairs.iter().map(letter).collect()
    }

    #[test]
    fn names_that_can_be_read() {
        let cases = [
            ("Calidris minuta", "Calidris minuta", true, ""),
            ("calidris minuta", "Calidris minuta", true, "c"),
            ("CALIDRIS MINUTA", "Calidris minuta", true, "c"),
            (" Calidris\t minuta", "Calidris minuta", true, "st"),
            ("Little Stint", "Calidris minuta", true, ""),
            ("little stint", "Calidris minuta", true, "c"),
            ("Lit Stint", "Calidris minuta", true, ""),
            ("stint sp.", "Calidris minuta", true, ""),
            ("dunlin", "Calidris alpina", true, "c"),
            ("Calidris alpina schinzii", "Calidris alpina", true, "u"),
            (
                "calidris alpina ssp. schinzii",
                "Calidris alpina",
                true,
                "cu",
            ),
            ("Calidris canutus", "Calidris canutus", false, ""),
            ("calidris Canutus", "Calidris canutus", false, "c"),
            (
                "Larus novae-hollandiae",
                "Larus novae-hollandiae",
                false,
                "",
            ),
            ("Motacilla flava thunbergi", "Motacilla flava", false, "u"),
        ];
        for (cell, species, listed, mended) in cases {
            let read = book().read(cell).unwrap_or_else(|e| panic!("{cell}: {e}"));
            assert_eq!(
                (read.species.as_str(), read.listed),
                (species, listed),
                "{cell}"
            );
            assert_eq!(flags(&read), mended, "{cell}");
        }
    }

    #[test]
    fn names_that_cannot_be_read() {
        use NameProblem::*;
        let cases = [
            ("", Empty),
            (" \t", Empty),
            ("12", NotAName(None)),
            ("Dunlim", NotAName(Some("Dunlin".into()))),
            ("Black-headed Gull", NotAName(None)),
            ("Common Ringed Plover", NotAName(None)),
            ("Calidris minuta x alpina", Hybrid),
            ("Calidris minuta \u{d7} temminckii", Hybrid),
            ("Calidris sp.", GenusOnly),
            ("Calidris minuta/temminckii", Slash),
            ("Calidris cf. minuta", Doubtful),
            ("Calidris minuta?", Doubtful),
        ];
        for (cell, expected) in cases {
            assert_eq!(book().read(cell), Err(expected), "{cell}");
        }
        assert!(matches!(book().read("Stint"), Err(Ambiguous(_, _))));
    }

    #[test]
    fn the_nearest_listed_species() {
        assert_eq!(
            book().nearest_species("Calidris minutta"),
            Some("Calidris minuta")
        );
        assert_eq!(
            book().nearest_species("Temmincks Stint"),
            Some("Calidris temminckii")
        );
        assert_eq!(NameBook::new(&[]).nearest_species("Calidris alba"), None);
    }
}
