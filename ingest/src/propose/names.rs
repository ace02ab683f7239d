//! Which species the file's names mean, as far as the shipped look-alike sets or the form of a
//! scientific name tell.

use super::columns::{Columns, SpeciesAt};
use super::doubts::{self, Doubt};
use super::sheet::Sheet;
use crate::cell::tidy;
use crate::names::two_names;
use crate::nothing;
use config::nearest::{folded, nearest};
use config::settings::Species;
use std::collections::{BTreeMap, HashMap, HashSet};

/// A species: scientific name and English one.
pub(super) type Meant = (String, Option<String>);

/// Species that the program knows, by folded name.
#[derive(Default)]
pub(super) struct Known {
    by_name: HashMap<String, Meant>,
    written: Vec<String>,
    /// Folded.
    genera: HashSet<String>,
}

/// The species of the shipped sets and those listed, by every name that they are given there.
pub(super) fn known(listed: &[Species]) -> Known {
    let mut known = Known::default();
    // The sets are tested before they ship; without them names are merely not resolved.
    for set in config::look_alikes::shipped().unwrap_or_default() {
        for member in set.members {
            let meant = (member.species.clone(), member.names.get("en").cloned());
            let names = member.names.values().chain([&member.species]);
            known.learn(names.map(String::as_str), &meant);
        }
    }
    for species in listed {
        let meant = (species.scientific.clone(), species.names.get("en").cloned());
        known.learn(species.all_names(), &meant);
    }
    known
}

impl Known {
    /// A name that is known keeps what it means.
    fn learn<'n>(&mut self, names: impl Iterator<Item = &'n str>, meant: &Meant) {
        self.genera.extend(genus(&meant.0));
        for name in names {
            let entry = self.by_name.entry(folded(name));
            entry.or_insert_with(|| {
                self.written.push(name.to_owned());
                meant.clone()
            });
        }
    }

    fn of(&self, name: &str) -> Option<&Meant> {
        self.by_name.get(&folded(name))
    }

    /// What a name means: one that is known, a scientific one, or two that agree.
    fn meant(&self, name: &str) -> Option<Meant> {
        self.alone(name).or_else(|| {
            let (a, b, _) = two_names(name)?;
            let other = self.alone(b)?;
            self.alone(a).filter(|meant| other.0 == meant.0)
        })
    }

    /// What a name means that is known or a scientific one.
    fn alone(&self, name: &str) -> Option<Meant> {
        self.of(name).cloned().or_else(|| {
            let scientific = binomial(name)?;
            let english = self.of(&scientific).and_then(|known| known.1.clone());
            Some((scientific, english))
        })
    }

    /// The same, but of a scientific name only where its genus is known: two words of any language
    /// look like one.
    pub(super) fn surely(&self, name: &str) -> Option<Meant> {
        let meant = self.alone(name)?;
        let sure =
            self.of(name).is_some() || genus(&meant.0).is_some_and(|g| self.genera.contains(&g));
        sure.then_some(meant)
    }
}

/// Is it a name that means a species?
pub(super) fn is_name(cell: &str, known: &Known) -> bool {
    known.by_name.contains_key(&folded(cell)) || binomial(cell).is_some()
}

/// A species found in the file.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct FoundSpecies {
    pub(super) english: Option<String>,
    pub(super) rows: usize,
    /// Other names that the file uses.
    pub(super) also: Vec<String>,
}

/// A name that means no species that is known here.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Unresolved {
    pub(super) written: String,
    pub(super) rows: usize,
    pub(super) nearest: Option<Near>,
}

/// The known name that is nearest to one that is not known.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Near {
    pub(super) name: String,
    pub(super) meant: Meant,
}

/// All names of the file.
#[derive(Debug, Clone, Default)]
pub(super) struct Names {
    /// By scientific name.
    pub(super) species: BTreeMap<String, FoundSpecies>,
    pub(super) unresolved: Vec<Unresolved>,
    /// Names of no one species: hybrids, one of two, a genus alone.
    pub(super) of_none: Vec<(String, usize)>,
    /// Two names of one bird that contradict each other, in a cell or in a row.
    pub(super) doubts: Vec<Doubt>,
    /// Rows that say that their visit found no bird.
    pub(super) without_birds: usize,
}

impl Names {
    pub(super) fn find(sheet: &Sheet, columns: &Columns, known: &Known) -> Self {
        let mut names = Names::default();
        for (written, rows) in written_names(sheet, columns) {
            names.take(written, rows, known);
        }
        names.doubts.extend(doubts::in_rows(sheet, columns, known));
        names
    }

    fn take(&mut self, written: String, rows: usize, known: &Known) {
        if nothing::is_said(&written) && known.of(&written).is_none() {
            self.without_birds += rows;
            return;
        }
        let meant = known.meant(&written);
        if is_of_none(&written) && (meant.is_none() || binomial(&written).is_some()) {
            self.of_none.push((written, rows));
            return;
        }
        if let Some(doubt) = doubts::in_cell(&written, rows, known).filter(|_| meant.is_none()) {
            self.doubts.push(doubt);
            return;
        }
        let Some((scientific, english)) = meant else {
            self.unresolved.push(Unresolved {
                nearest: near(&written, known),
                written,
                rows,
            });
            return;
        };
        let found = self.species.entry(scientific.clone()).or_default();
        found.rows += rows;
        let name_of_its_own = [Some(&scientific), english.as_ref()];
        let said = name_of_its_own
            .into_iter()
            .flatten()
            .any(|n| folded(n) == folded(&written));
        let trinomial = binomial(&written).as_ref() == Some(&scientific);
        let twofold = known.of(&written).is_none() && two_names(&written).is_some();
        if !said
            && !trinomial
            && !twofold
            && !found.also.iter().any(|a| folded(a) == folded(&written))
        {
            found.also.push(written);
        }
        found.english = english;
    }
}

fn near(written: &str, known: &Known) -> Option<Near> {
    let name = nearest(written, known.written.iter().map(String::as_str))?;
    Some(Near {
        name: name.to_owned(),
        meant: known.of(name)?.clone(),
    })
}

/// Different names with their rows, the most frequent first.
fn written_names(sheet: &Sheet, columns: &Columns) -> Vec<(String, usize)> {
    let mut tally: BTreeMap<String, usize> = BTreeMap::new();
    for row in &sheet.rows {
        if let Some(name) = name_in(row, columns) {
            *tally.entry(name).or_default() += 1;
        }
    }
    let mut names: Vec<_> = tally.into_iter().collect();
    names.sort_by_key(|(_, rows)| std::cmp::Reverse(*rows));
    names
}

/// The name in a row.
pub(super) fn name_in(row: &csv::StringRecord, columns: &Columns) -> Option<String> {
    let cell = |column: usize| row.get(column).unwrap_or_default();
    let name = match columns.species? {
        SpeciesAt::One(column) => cell(column).to_owned(),
        SpeciesAt::GenusEpithet(genus, epithet) => format!("{} {}", cell(genus), cell(epithet)),
    };
    let name = tidy(&name).0.into_owned();
    (!name.is_empty()).then_some(name)
}

/// Folded.
fn genus(scientific: &str) -> Option<String> {
    scientific.split(' ').next().map(folded)
}

/// Genus and epithet in the right case, from a name of two words, or three where the last two are
/// small: "calidris MINUTA" is no vernacular name's way, "Little Stint" is.
fn binomial(name: &str) -> Option<String> {
    let words: Vec<&str> = name.split_whitespace().collect();
    let letters = |w: &&str| w.chars().count() >= 2 && w.chars().all(char::is_alphabetic);
    let small = |w: &&str| w.chars().all(|c| c.is_lowercase() || c == '-');
    match words[..] {
        [genus, epithet] if letters(&genus) && small(&epithet) => Some(joined(genus, epithet)),
        [genus, epithet, third] if letters(&genus) && small(&epithet) && small(&third) => {
            Some(joined(genus, epithet))
        }
        _ => None,
    }
}

fn joined(genus: &str, epithet: &str) -> String {
    let mut letters = genus.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    let rest = letters.flat_map(char::to_lowercase);
    let genus: String = first.chain(rest).collect();
    format!("{genus} {epithet}")
}

fn is_of_none(name: &str) -> bool {
    let words = name.to_lowercase();
    let signs = [
        "sp", "sp.", "spp", "spp.", "x", "\u{d7}", "hybrid", "cf", "cf.",
    ];
    name.contains(['/', '?']) || words.split_whitespace().any(|w| signs.contains(&w))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scientific_names() {
        for (name, expected) in [
            ("Calidris minuta", Some("Calidris minuta")),
            ("calidris minuta", Some("Calidris minuta")),
            ("CALIDRIS minuta", Some("Calidris minuta")),
            ("Calidris alpina schinzii", Some("Calidris alpina")),
            ("Little Stint", None),
            ("Dunlin", None),
            ("LS", None),
        ] {
            assert_eq!(binomial(name).as_deref(), expected, "{name}");
        }
        assert!(is_of_none("Calidris sp.") && is_of_none("Dunlin/Knot") && !is_of_none("Dunlin"));
    }
}
