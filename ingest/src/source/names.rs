//! The species column or columns of a counts file.

use super::columns::{Cell, Cells, Taken, repairs};
use super::walk::{Fault, cell_text};
use super::{CountRows, Name, Reading};
use crate::error::LoadError;
use crate::intern::{Entry, Interner};
use crate::mapping::Finder;
use crate::names::{LeftUnknown, NameBook, NameProblem, ReadName, Whose};
use crate::nothing::WITHOUT_BIRDS;
use crate::read::rows::Row;
use crate::report::{Note, Repair, RepairKind, SpeciesTotal};
use crate::totals::TotalsWords;
use chrono::NaiveDate;
use config::settings::SpeciesColumns;
use std::collections::BTreeMap;

/// Parts a name from what decides its meaning besides: a date, or a doubt written beside it.
const PART: char = '\u{1f}';

/// One column, or genus and epithet, and the column with doubts.
pub(crate) struct SpeciesColumn {
    first: usize,
    epithet: Option<usize>,
    qualifier: Option<usize>,
    book: NameBook,
    cells: Cells<Whose, NameProblem>,
    /// What rows leave unknown, by place of the cell.
    unknown: Vec<LeftUnknown>,
    key: Vec<u8>,
}

impl SpeciesColumn {
    pub(crate) fn new(
        reading: &Reading<'_>,
        finder: &mut Finder<'_>,
        columns: &SpeciesColumns,
    ) -> Result<Self, LoadError> {
        let (first, epithet) = match columns {
            SpeciesColumns::One(name) => (finder.column("species", name)?, None),
            SpeciesColumns::GenusEpithet(genus, epithet) => {
                let genus = finder.column("genus", genus)?;
                (genus, Some(finder.column("epithet", epithet)?))
            }
        };
        let qualifier = reading.source.meaning.columns.qualifier.as_ref();
        Ok(SpeciesColumn {
            first,
            epithet,
            qualifier: finder.optional("qualifier", qualifier)?,
            book: book(reading, epithet.is_some()),
            cells: Interner::new(),
            unknown: Vec::new(),
            key: Vec::new(),
        })
    }

    /// The value is the place of the name.
    pub(crate) fn read(&mut self, row: &Row<'_>, date: NaiveDate) -> Result<Taken<u32>, Fault> {
        let place = self.place(row, date);
        let cell = self.cells.value(place);
        match &cell.read {
            Ok(_) => Ok(Taken {
                value: place,
                place,
                repaired: !cell.repairs.is_empty(),
            }),
            Err(problem) => {
                let is_column = row.across.is_some_and(|across| self.first >= across.from);
                let way_out = match is_column {
                    true => "; if the column is of no species, name it in leave_out",
                    false => "",
                };
                let fault = Fault::in_column(self.first, format!("{problem}{way_out}"));
                Err(fault.kept_back(problem.is_kept_back()))
            }
        }
    }

    /// Does the name at a place say that nothing was found?
    pub(crate) fn is_nothing(&self, place: u32) -> bool {
        self.whose(place) == Some(&Whose::Nothing)
    }

    /// The column with the name, or its first part.
    pub(crate) fn column(&self) -> usize {
        self.first
    }

    /// Whose birds the name at a place stands for.
    pub(crate) fn whose(&self, place: u32) -> Option<&Whose> {
        self.cells.value(place).read.as_ref().ok()
    }

    pub(crate) fn place(&mut self, row: &Row<'_>, date: NaiveDate) -> u32 {
        let mut cell = &row.cells[self.first];
        let simple = self.epithet.is_none() && self.qualifier.is_none() && !self.book.has_dated();
        if !simple {
            self.fill_key(row, date);
            cell = &self.key;
        }
        let (book, unknown) = (&self.book, &mut self.unknown);
        self.cells.place(cell, |text| {
            let (read, left) = name_cell(text, book);
            unknown.push(left);
            read
        })
    }

    /// Name, place of the species that it meant on the date, doubt.
    fn fill_key(&mut self, row: &Row<'_>, date: NaiveDate) {
        self.key.clear();
        self.key.extend_from_slice(&row.cells[self.first]);
        if let Some(epithet) = self.epithet {
            self.key.push(b' ');
            self.key.extend_from_slice(&row.cells[epithet]);
        }
        let meant = match self.book.has_dated() {
            true => self
                .book
                .meant_on(&String::from_utf8_lossy(&self.key), date),
            false => None,
        };
        let part = PART.to_string();
        self.key.extend_from_slice(part.as_bytes());
        self.key
            .extend(meant.map(|m| m.to_string()).unwrap_or_default().bytes());
        self.key.extend_from_slice(part.as_bytes());
        let doubt = self.qualifier.and_then(|q| row.cells.get(q));
        self.key
            .extend_from_slice(doubt.unwrap_or_default().trim_ascii());
    }

    /// What a row leaves unknown of its visit: a refused one at least whether its species was
    /// found.
    pub(crate) fn left_unknown(
        &mut self,
        row: &Row<'_>,
        date: NaiveDate,
        accepted: bool,
    ) -> LeftUnknown {
        let place = self.place(row, date);
        match &self.cells.value(place).read {
            Ok(Whose::Species { name, .. }) if !accepted => {
                LeftUnknown::Species(vec![name.clone()])
            }
            // it says that there were none, and something else of it says otherwise
            Ok(Whose::Nothing) if !accepted => LeftUnknown::Any,
            _ => self.unknown[place as usize].clone(),
        }
    }

    pub(crate) fn accept(&mut self, name: &Taken<u32>, line: u64) {
        self.cells.accept(name.place, line);
    }

    /// What the file writes where genus and epithet are two columns.
    pub(crate) fn written(&self, row: &Row<'_>, column: usize) -> Option<String> {
        let epithet = self.epithet.filter(|_| column == self.first)?;
        Some(format!(
            "{} {}",
            cell_text(row, column),
            cell_text(row, epithet)
        ))
    }

    pub(crate) fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let mut column = finder.header.name(self.first);
        if let Some(epithet) = self.epithet {
            column = format!("{column} and {}", finder.header.name(epithet));
        }
        let mut all = repairs(&self.cells, &column, words);
        for example in all.iter_mut().flat_map(|r| &mut r.examples) {
            example.written = name_part(&example.written).to_owned();
        }
        all
    }

    /// Tells of birds left undecided, by the species between which they are.
    pub(crate) fn undecided_notes(&self) -> Vec<Note> {
        let mut told: BTreeMap<&[String], (u64, u64)> = BTreeMap::new();
        for entry in self.cells.entries().iter().filter(|e| e.rows > 0) {
            if let Ok(Whose::Undecided(between)) = &entry.value.read {
                let (rows, line) = told.entry(between).or_insert((0, entry.first_line));
                *rows += entry.rows;
                *line = entry.first_line.min(*line);
            }
        }
        let note = |(between, (rows, line)): (&[String], (u64, u64))| Note {
            file: None,
            line: Some(line),
            text: match between {
                [only] => format!("Doubtful records of {only}, kept apart: {rows}."),
                several => format!(
                    "Records undecided between {}, kept apart: {rows}.",
                    several.join(", ")
                ),
            },
        };
        told.into_iter().map(note).collect()
    }

    pub(crate) fn into_names(self) -> Vec<Name> {
        let entries = self.cells.entries().iter();
        entries.map(name_in_store).collect()
    }

    /// Totals by species, in the order of names.
    pub(crate) fn totals(&self, rows: &CountRows) -> Vec<SpeciesTotal> {
        let entries = self.cells.entries();
        let mut birds = vec![0_u64; entries.len()];
        let mut by_site = vec![vec![0_u64; rows.sites.len()]; entries.len()];
        for ((&name, &site), count) in rows.name.iter().zip(&rows.site).zip(&rows.count) {
            birds[name as usize] += u64::from(count.birds());
            by_site[name as usize][site as usize] += 1;
        }
        let mut totals: BTreeMap<&str, SpeciesTotal> = BTreeMap::new();
        for (place, entry) in entries.iter().enumerate().filter(|(_, e)| e.rows > 0) {
            let Ok(Whose::Species { name, listed }) = &entry.value.read else {
                continue;
            };
            let total = totals
                .entry(name)
                .or_insert_with(|| self.no_rows(name, *listed, entry.first_line));
            total.first_line = total.first_line.min(entry.first_line);
            total.records += entry.rows;
            total.birds += birds[place];
            let here = rows.sites.iter().zip(&by_site[place]);
            for (site, &records) in here.filter(|(_, n)| **n > 0) {
                *total.sites.entry(site.clone()).or_default() += records;
            }
        }
        totals.into_values().collect()
    }

    fn no_rows(&self, name: &str, listed: bool, first_line: u64) -> SpeciesTotal {
        let nearest = || self.book.nearest_species(name).map(str::to_owned);
        SpeciesTotal {
            file: None,
            name: name.to_owned(),
            listed,
            nearest: if listed { None } else { nearest() },
            first_line,
            records: 0,
            birds: 0,
            sites: BTreeMap::new(),
        }
    }
}

/// The names that the source may use.
fn book(reading: &Reading<'_>, in_two_columns: bool) -> NameBook {
    let workspace = reading.workspace;
    let (species, undecided) = (&workspace.species, &workspace.records.undecided);
    let totals = TotalsWords::of(reading.source);
    let book = NameBook::new(species, undecided, totals, in_two_columns);
    match reading.source.layout.wide {
        Some(_) => book.of_wide_table(),
        None => book,
    }
}

fn name_part(key: &str) -> &str {
    key.split(PART).next().unwrap_or(key)
}

fn words(whose: &Whose) -> String {
    match whose {
        Whose::Species { name, .. } => name.clone(),
        Whose::Undecided(between) => between.join(" / "),
        Whose::Nothing => WITHOUT_BIRDS.to_owned(),
    }
}

fn name_in_store(entry: &Entry<Cell<Whose, NameProblem>>) -> Name {
    let written = name_part(&entry.written);
    match &entry.value.read {
        Ok(Whose::Species { name, .. }) => Name {
            species: Some(name.clone()),
            between: Vec::new(),
            written: (name != written).then(|| written.to_owned()),
        },
        Ok(Whose::Undecided(between)) => Name {
            species: None,
            between: between.clone(),
            written: Some(written.to_owned()),
        },
        Ok(Whose::Nothing) => Name {
            written: Some(written.to_owned()),
            ..Name::default()
        },
        Err(_) => Name::default(), // no accepted row has it
    }
}

/// Reads a cell or a key, and tells what a row of it leaves unknown of its visit.
fn name_cell(key: &str, book: &NameBook) -> (Cell<Whose, NameProblem>, LeftUnknown) {
    let mut parts = key.splitn(3, PART);
    let name = parts.next().unwrap_or_default();
    let meant = parts.next().and_then(|place| place.parse().ok());
    let doubt = parts.next().unwrap_or_default();
    let read = match meant.and_then(|place| book.of_place(place)) {
        Some(read) => Ok(read),
        None => book.read(name),
    };
    let read = match doubt {
        "" => read,
        doubt => book.qualified(name, doubt).map(|whose| ReadName {
            repairs: match whose {
                Whose::Nothing => vec![RepairKind::NoBirds],
                _ => Vec::new(),
            },
            whose,
        }),
    };
    let unknown = book.left_unknown(name, &read);
    let (read, repairs) = match read {
        Ok(name) => (Ok(name.whose), name.repairs),
        Err(problem) => (Err(problem), Vec::new()),
    };
    (Cell { read, repairs }, unknown)
}
