//! Columns that say what a visit was for, whether it was fully reported, and who observed.

use super::columns::{Cell, Cells, Taken, repairs, taken};
use super::effort_column::Efforts;
use super::walk::Fault;
use super::{Reading, observers::Observers};
use crate::cell::tidy;
use crate::error::{LoadError, quoted};
use crate::intern::Interner;
use crate::mapping::Finder;
use crate::read::rows::Row;
use crate::report::{Note, Repair};
use crate::visit::OfVisit;
use chrono::NaiveDate;
use config::meaning::Purpose;
use config::nearest::{folded, nearest};

/// Why a cell holds none of a column's words.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("none of the words {}{}", quoted(words), near(nearest))]
pub(crate) struct WordProblem {
    words: Vec<String>,
    nearest: Option<String>,
}

fn near(nearest: &Option<String>) -> String {
    match nearest {
        Some(word) => format!("; the nearest is \"{word}\""),
        None => "; add it to the source's words if it is one".to_owned(),
    }
}

/// A column that holds one of a few words, or nothing.
pub(crate) struct WordColumn<T> {
    column: Option<usize>,
    words: Vec<(String, T)>,
    cells: Cells<Option<T>, WordProblem>,
}

impl<T: Copy> WordColumn<T> {
    pub(crate) fn new(
        finder: &mut Finder<'_>,
        key: &'static str,
        name: Option<&String>,
        meanings: [(&[String], T); 2],
    ) -> Result<Self, LoadError> {
        let [a, b] = meanings;
        let both = [a, b].into_iter();
        let words = both.flat_map(|(words, t)| words.iter().map(move |w| (w.clone(), t)));
        Ok(WordColumn {
            column: finder.optional(key, name)?,
            words: words.collect(),
            cells: Interner::new(),
        })
    }

    /// None where there is no such column or the cell is empty.
    pub(crate) fn read(&mut self, row: &Row<'_>) -> Result<Taken<Option<T>>, Fault> {
        let Some(column) = self.column else {
            return Ok(Taken {
                value: None,
                place: 0,
                repaired: false,
            });
        };
        let words = &self.words;
        let place = self
            .cells
            .place(&row.cells[column], |text| word(text, words));
        taken(&self.cells, place, column)
    }

    pub(crate) fn accept(&mut self, place: u32, line: u64) {
        if self.column.is_some() {
            self.cells.accept(place, line);
        }
    }

    pub(crate) fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let Some(column) = self.column else {
            return Vec::new();
        };
        let all = &self.cells;
        let column = finder.header.name(column);
        let mut found = repairs(all, &column, |_| String::new());
        for example in found.iter_mut().flat_map(|r| &mut r.examples) {
            example.read_as = tidy(&example.written).0.into_owned();
        }
        found
    }
}

fn word<T: Copy>(text: &str, words: &[(String, T)]) -> Cell<Option<T>, WordProblem> {
    let (tidied, stray) = tidy(text);
    let wanted = folded(&tidied);
    let found = words.iter().find(|(word, _)| folded(word) == wanted);
    let names = || words.iter().map(|(word, _)| word.as_str());
    let read = match found {
        Some((_, meaning)) => Ok(Some(*meaning)),
        None if wanted.is_empty() => Ok(None),
        None => Err(WordProblem {
            words: names().map(str::to_owned).collect(),
            nearest: nearest(&tidied, names()).map(str::to_owned),
        }),
    };
    Cell {
        read,
        repairs: stray.repairs(),
    }
}

/// All columns that tell of the visit rather than of birds.
pub(crate) struct VisitColumns {
    efforts: Efforts,
    purpose: WordColumn<Purpose>,
    purpose_of_all: Option<Purpose>,
    fully_reported: WordColumn<bool>,
    pub(crate) observers: Observers,
}

/// The visit of a row, and the entries to be counted where the row is accepted.
pub(crate) struct VisitRead {
    pub(crate) visit: OfVisit,
    pub(crate) repaired: bool,
    effort: u32,
    purpose: u32,
    fully_reported: u32,
}

impl VisitColumns {
    pub(crate) fn new(
        reading: &Reading<'_>,
        finder: &mut Finder<'_>,
        effort: Option<&String>,
    ) -> Result<Self, LoadError> {
        let meaning = &reading.source.meaning;
        let (columns, words) = (&meaning.columns, &meaning.words);
        let purposes: [(&[String], Purpose); 2] = [
            (&words.standard, Purpose::Standard),
            (&words.targeted, Purpose::Targeted),
        ];
        let answers: [(&[String], bool); 2] = [(&words.yes, true), (&words.no, false)];
        let (purpose, full) = (columns.purpose.as_ref(), columns.fully_reported.as_ref());
        Ok(VisitColumns {
            efforts: Efforts::new(finder, effort)?,
            purpose: WordColumn::new(finder, "purpose", purpose, purposes)?,
            purpose_of_all: meaning.purpose,
            fully_reported: WordColumn::new(finder, "fully_reported", full, answers)?,
            observers: Observers::new(reading, finder)?,
        })
    }

    pub(crate) fn read(&mut self, row: &Row<'_>) -> Result<VisitRead, Fault> {
        let effort = self.efforts.read(row)?;
        let purpose = self.purpose.read(row)?;
        let full = self.fully_reported.read(row)?;
        Ok(VisitRead {
            visit: OfVisit {
                effort: effort.value,
                purpose: purpose.value.or(self.purpose_of_all),
                fully_reported: full.value,
                party: 0, // known when all of the visit's rows are
            },
            repaired: effort.repaired || purpose.repaired || full.repaired,
            effort: effort.place,
            purpose: purpose.place,
            fully_reported: full.place,
        })
    }

    /// What can be read of a row that is refused for something else.
    pub(crate) fn of_refused(&mut self, row: &Row<'_>) -> OfVisit {
        let purpose = self.purpose.read(row).ok().and_then(|p| p.value);
        OfVisit {
            purpose: purpose.or(self.purpose_of_all),
            ..OfVisit::default()
        }
    }

    pub(crate) fn accept(
        &mut self,
        read: &VisitRead,
        row: &Row<'_>,
        site: u32,
        date: NaiveDate,
    ) -> OfVisit {
        self.efforts.accept(read.effort, row.line);
        self.purpose.accept(read.purpose, row.line);
        self.fully_reported.accept(read.fully_reported, row.line);
        OfVisit {
            party: self.observers.party(row, site, date),
            ..read.visit
        }
    }

    pub(crate) fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let mut all = self.efforts.repairs(finder);
        all.extend(self.purpose.repairs(finder));
        all.extend(self.fully_reported.repairs(finder));
        all
    }

    pub(crate) fn notes(&self, finder: &Finder<'_>) -> Vec<Note> {
        self.efforts.note(finder).into_iter().collect()
    }
}
