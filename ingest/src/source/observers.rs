//! Observers: numbered within each visit; their names are kept only as the workspace allows.

use super::Reading;
use crate::cell::tidy;
use crate::error::LoadError;
use crate::mapping::Finder;
use crate::read::rows::Row;
use chrono::NaiveDate;
use config::meaning::KeepObservers;
use config::nearest::folded;
use std::collections::HashMap;

/// Parts the names of a party, here as in Darwin Core's `recordedBy`.
pub(crate) const PARTS: &str = " | ";

/// A name to be kept of a party of a visit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct KeptObserver {
    pub(crate) site: u32,
    pub(crate) date: NaiveDate,
    pub(crate) party: u32,
    /// As kept: the name, or its first letters.
    pub(crate) kept: String,
}

/// The observer column, where the source has one.
pub(crate) struct Observers {
    column: Option<usize>,
    keep: KeepObservers,
    /// Folded cells of a visit's parties, in the order met.
    parties: HashMap<(u32, NaiveDate), Vec<Box<str>>>,
    pub(crate) kept: Vec<KeptObserver>,
}

impl Observers {
    pub(crate) fn new(reading: &Reading<'_>, finder: &mut Finder<'_>) -> Result<Self, LoadError> {
        let column = reading.source.meaning.columns.observer.as_ref();
        Ok(Observers {
            column: finder.optional("observer", column)?,
            keep: reading.workspace.records.keep_observers,
            parties: HashMap::new(),
            kept: Vec::new(),
        })
    }

    /// The column, whose cells no report may quote.
    pub(crate) fn private_column(&self) -> Option<usize> {
        self.column
    }

    /// Number of the row's party among those of its visit, from 1; 0 where none is written.
    pub(crate) fn party(&mut self, row: &Row<'_>, site: u32, date: NaiveDate) -> u32 {
        let Some(cell) = self.column.and_then(|c| row.cells.get(c)) else {
            return 0;
        };
        let text = String::from_utf8_lossy(cell);
        let name = folded(&text);
        if name.is_empty() {
            return 0;
        }
        let parties = self.parties.entry((site, date)).or_default();
        if let Some(place) = parties.iter().position(|known| **known == *name) {
            return place as u32 + 1;
        }
        parties.push(name.into());
        let party = parties.len() as u32;
        self.keep(&text, site, date, party);
        party
    }

    fn keep(&mut self, cell: &str, site: u32, date: NaiveDate, party: u32) {
        let kept = |name: &str| match self.keep {
            KeepObservers::None => None,
            KeepObservers::Initials => Some(initials(name)),
            KeepObservers::Names => Some(name.to_owned()),
        };
        for name in names(cell) {
            if let Some(kept) = kept(&name) {
                self.kept.push(KeptObserver {
                    site,
                    date,
                    party,
                    kept,
                });
            }
        }
    }
}

/// The names in a cell. Darwin Core's `recordedBy` parts them with " | ".
pub(crate) fn names(cell: &str) -> Vec<String> {
    let parts = cell.split(['|', ';', '&']);
    let tidied = parts.map(|part| tidy(part).0.trim().to_owned());
    tidied.filter(|name| !name.is_empty()).collect()
}

/// First letters of a name's words: "Ann Warden" is "AW".
pub(crate) fn initials(name: &str) -> String {
    let words = name.split(|c: char| !c.is_alphanumeric());
    let first = words.filter_map(|word| word.chars().next());
    first.flat_map(char::to_uppercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_in_a_cell_and_their_letters() {
        assert_eq!(
            names(" Ann  Warden | B. Keeper;"),
            ["Ann Warden", "B. Keeper"]
        );
        assert!(names(" | ").is_empty());
        assert_eq!(initials("Ann Warden-Smith"), "AWS");
        assert_eq!(initials("b. keeper"), "BK");
    }
}
