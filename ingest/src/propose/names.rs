//! Which species the file's names mean, as far as the shipped look-alike sets or the form of a
//! scientific name tell.

use super::columns::{Columns, SpeciesAt};
use super::sheet::Sheet;
use crate::cell::tidy;
use config::nearest::{folded, nearest};
use std::collections::{BTreeMap, HashMap};

/// Species that the program knows, by folded name: scientific name and English one.
pub(super) struct Known {
    by_name: HashMap<String, (String, Option<String>)>,
    written: Vec<String>,
}

/// The species of the shipped sets, by every name that the sets give them.
pub(super) fn known() -> Known {
    let (mut by_name, mut written) = (HashMap::new(), Vec::new());
    // The sets are tested before they ship; without them names are merely not resolved.
    for set in config::look_alikes::shipped().unwrap_or_default() {
        for member in set.members {
            let meant = (member.species.clone(), member.names.get("en").cloned());
            let names = member.names.values().chain([&member.species]);
            for name in names {
                by_name.insert(folded(name), meant.clone());
                written.push(name.clone());
            }
        }
    }
    Known { by_name, written }
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
    pub(super) nearest: Option<String>,
}

/// All names of the file.
#[derive(Debug, Clone, Default)]
pub(super) struct Names {
    /// By scientific name.
    pub(super) species: BTreeMap<String, FoundSpecies>,
    pub(super) unresolved: Vec<Unresolved>,
    /// Names of no one species: hybrids, one of two, a genus alone.
    pub(super) of_none: Vec<(String, usize)>,
}

impl Names {
    pub(super) fn find(sheet: &Sheet, columns: &Columns, known: &Known) -> Self {
        let mut names = Names::default();
        for (written, rows) in written_names(sheet, columns) {
            names.take(written, rows, known);
        }
        names
    }

    fn take(&mut self, written: String, rows: usize, known: &Known) {
        if is_of_none(&written) {
            self.of_none.push((written, rows));
            return;
        }
        let meant = known.by_name.get(&folded(&written)).cloned();
        let meant = meant.or_else(|| {
            let scientific = binomial(&written)?;
            let english = known
                .by_name
                .get(&folded(&scientific))
                .and_then(|k| k.1.clone());
            Some((scientific, english))
        });
        let Some((scientific, english)) = meant else {
            let near = nearest(&written, known.written.iter().map(String::as_str));
            self.unresolved.push(Unresolved {
                nearest: near.map(str::to_owned),
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
        if !said && !trinomial && !found.also.iter().any(|a| folded(a) == folded(&written)) {
            found.also.push(written);
        }
        found.english = english;
    }
}

/// Different names with their rows, the most frequent first.
fn written_names(sheet: &Sheet, columns: &Columns) -> Vec<(String, usize)> {
    let mut tally: BTreeMap<String, usize> = BTreeMap::new();
    for row in &sheet.rows {
        let cell = |column: usize| row.get(column).unwrap_or_default();
        let name = match columns.species {
            Some(SpeciesAt::One(column)) => cell(column).to_owned(),
            Some(SpeciesAt::GenusEpithet(genus, epithet)) => {
                format!("{} {}", cell(genus), cell(epithet))
            }
            None => continue,
        };
        let name = tidy(&name).0.into_owned();
        if !name.is_empty() {
            *tally.entry(name).or_default() += 1;
        }
    }
    let mut names: Vec<_> = tally.into_iter().collect();
    names.sort_by_key(|(_, rows)| std::cmp::Reverse(*rows));
    names
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
