//! Rows of a counts file.

use super::columns::{Cell, Cells, Dates, Efforts, Sites, Taken, repairs, taken};
use super::walk::{Fault, TakeRow, Walk, cell_text};
use super::{CountRows, Name, Reading};
use crate::cell::tidy;
use crate::count::{CountProblem, CountReader};
use crate::error::LoadError;
use crate::intern::Interner;
use crate::mapping::{Finder, SiteBook};
use crate::names::{NameBook, NameProblem};
use crate::read::rows::Row;
use crate::report::{Repair, SpeciesTotal};
use config::settings::{CountColumns, SpeciesColumns};
use forecast::series::Count;
use std::collections::BTreeMap;

/// The columns of a counts file and the rows taken so far.
pub(crate) struct Reader {
    dates: Dates,
    sites: Sites,
    efforts: Efforts,
    species: SpeciesColumn,
    counts: Counts,
    rows: CountRows,
}

struct SpeciesColumn {
    /// One column, or genus and epithet.
    first: usize,
    epithet: Option<usize>,
    book: NameBook,
    cells: Cells<SpeciesRead, NameProblem>,
    joined: Vec<u8>,
}

struct SpeciesRead {
    species: String,
    listed: bool,
}

struct Counts {
    /// None where each row is a bird.
    column: Option<usize>,
    reader: CountReader,
    cells: Cells<Count, CountProblem>,
}

impl Reader {
    pub(crate) fn new(
        reading: &Reading<'_>,
        columns: &CountColumns,
        finder: &mut Finder<'_>,
        book: SiteBook,
    ) -> Result<Self, LoadError> {
        Ok(Reader {
            dates: Dates::new(reading, finder, &columns.date)?,
            sites: Sites::new(reading, finder, columns.site.as_ref(), book)?,
            efforts: Efforts::new(finder, columns.effort.as_ref())?,
            species: SpeciesColumn::new(reading, finder, &columns.species)?,
            counts: Counts {
                column: finder.optional("count", columns.count.as_ref())?,
                reader: CountReader::new(&columns.tokens),
                cells: Interner::new(),
            },
            rows: CountRows::default(),
        })
    }
}

/// Walks the table and hands back the accepted rows; the report is filled on the way.
pub(crate) fn read(
    mut reader: Reader,
    mut walk: Walk<'_, '_>,
    finder: Finder<'_>,
) -> Result<CountRows, LoadError> {
    walk.rows(finder.header, &finder.used, &mut reader)?;
    reader.dates.check(walk.whose)?;
    walk.report.repairs.extend(reader.repairs(&finder));
    let Reader {
        species,
        mut rows,
        sites,
        ..
    } = reader;
    rows.sites = sites.book.into_ids();
    walk.report.species = totals(&species, &rows);
    rows.names = species.names();
    walk.report.notes.extend(reader.efforts.note(&finder));
    walk.report.notes.extend(finder.notes);
    Ok(rows)
}

impl Reader {
    fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let mut all = self.dates.repairs(finder);
        all.extend(self.sites.repairs(finder));
        all.extend(self.species.repairs(finder));
        if let Some(column) = self.counts.column {
            let read_as = |count: &Count| count.birds().to_string();
            let column = finder.header.name(column);
            all.extend(repairs(&self.counts.cells, &column, read_as));
        }
        all.extend(self.efforts.repairs(finder));
        all
    }
}

impl TakeRow for Reader {
    fn take(&mut self, row: &Row<'_>) -> Result<bool, Fault> {
        let date = self.dates.read(row)?;
        let site = self.sites.read(row)?;
        let name = self.species.read(row)?;
        let count = self.counts.read(row)?;
        let effort = self.efforts.read(row)?;
        self.dates.accept(date.place, row.line);
        self.sites.accept(site.place, row.line);
        self.species.cells.accept(name.value, row.line);
        self.counts.accept(&count, row.line);
        self.efforts.accept(effort.place, row.line);
        self.rows.line.push(row.line as u32); // a file of 2 GiB at most has fewer lines
        self.rows.date.push(date.value);
        self.rows.site.push(site.value);
        self.rows.name.push(name.value);
        self.rows.count.push(count.value);
        self.rows.effort.push(effort.value);
        let repaired = [
            date.repaired,
            site.repaired,
            name.repaired,
            count.repaired,
            effort.repaired,
        ];
        Ok(repaired.contains(&true))
    }

    fn written(&self, row: &Row<'_>, column: usize) -> String {
        match self.species.epithet {
            Some(epithet) if column == self.species.first => {
                format!("{} {}", cell_text(row, column), cell_text(row, epithet))
            }
            _ => cell_text(row, column),
        }
    }
}

impl SpeciesColumn {
    fn new(
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
        Ok(SpeciesColumn {
            first,
            epithet,
            book: NameBook::new(&reading.workspace.species),
            cells: Interner::new(),
            joined: Vec::new(),
        })
    }

    /// The value is the place of the name.
    fn read(&mut self, row: &Row<'_>) -> Result<Taken<u32>, Fault> {
        let mut written = &row.cells[self.first];
        if let Some(epithet) = self.epithet {
            self.joined.clear();
            self.joined.extend_from_slice(written);
            self.joined.push(b' ');
            self.joined.extend_from_slice(&row.cells[epithet]);
            written = &self.joined;
        }
        let book = &self.book;
        let place = self.cells.place(written, |text| name_cell(text, book));
        let cell = self.cells.value(place);
        match &cell.read {
            Ok(_) => Ok(Taken {
                value: place,
                place,
                repaired: !cell.repairs.is_empty(),
            }),
            Err(problem) => {
                let fault = Fault::in_column(self.first, problem);
                Err(fault.kept_back(problem.is_kept_back()))
            }
        }
    }

    fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let mut column = finder.header.name(self.first);
        if let Some(epithet) = self.epithet {
            column = format!("{column} and {}", finder.header.name(epithet));
        }
        repairs(&self.cells, &column, |name| name.species.clone())
    }

    fn names(self) -> Vec<Name> {
        let entries = self.cells.entries().iter();
        entries
            .map(|entry| match &entry.value.read {
                Ok(read) => Name {
                    species: read.species.clone(),
                    written: (read.species != entry.written).then(|| entry.written.clone()),
                },
                Err(_) => Name::default(), // no accepted row has it
            })
            .collect()
    }
}

fn name_cell(text: &str, book: &NameBook) -> Cell<SpeciesRead, NameProblem> {
    match book.read(text) {
        Ok(name) => Cell {
            read: Ok(SpeciesRead {
                species: name.species,
                listed: name.listed,
            }),
            repairs: name.repairs,
        },
        Err(problem) => Cell {
            read: Err(problem),
            repairs: Vec::new(),
        },
    }
}

impl Counts {
    fn read(&mut self, row: &Row<'_>) -> Result<Taken<Count>, Fault> {
        let plain = |count| Taken {
            value: count,
            place: PLAIN,
            repaired: false,
        };
        let Some(column) = self.column else {
            return Ok(plain(Count::Exactly(1)));
        };
        let written = &row.cells[column];
        if let Some(birds) = self.reader.plain(written) {
            return Ok(plain(Count::Exactly(birds)));
        }
        let reader = &self.reader;
        let place = self.cells.place(written, |text| {
            let (tidied, stray) = tidy(text);
            Cell {
                read: reader.read(&tidied),
                repairs: stray.repairs(),
            }
        });
        taken(&self.cells, place, column)
    }

    fn accept(&mut self, count: &Taken<Count>, line: u64) {
        if count.place != PLAIN {
            self.cells.accept(count.place, line);
        }
    }
}

/// Stands for a count that needed no entry.
const PLAIN: u32 = u32::MAX;

/// Totals by species, in the order of names.
fn totals(column: &SpeciesColumn, rows: &CountRows) -> Vec<SpeciesTotal> {
    let entries = column.cells.entries();
    let mut birds = vec![0_u64; entries.len()];
    let mut by_site = vec![vec![0_u64; rows.sites.len()]; entries.len()];
    for ((&name, &site), count) in rows.name.iter().zip(&rows.site).zip(&rows.count) {
        birds[name as usize] += u64::from(count.birds());
        by_site[name as usize][site as usize] += 1;
    }
    let mut totals: BTreeMap<&str, SpeciesTotal> = BTreeMap::new();
    for (place, entry) in entries.iter().enumerate().filter(|(_, e)| e.rows > 0) {
        let Ok(read) = &entry.value.read else {
            continue;
        };
        let total = totals
            .entry(&read.species)
            .or_insert_with(|| no_rows(read, &column.book, entry.first_line));
        total.first_line = total.first_line.min(entry.first_line);
        total.records += entry.rows;
        total.birds += birds[place];
        for (site, &records) in rows
            .sites
            .iter()
            .zip(&by_site[place])
            .filter(|(_, n)| **n > 0)
        {
            *total.sites.entry(site.clone()).or_default() += records;
        }
    }
    totals.into_values().collect()
}

fn no_rows(read: &SpeciesRead, book: &NameBook, first_line: u64) -> SpeciesTotal {
    let nearest = || book.nearest_species(&read.species).map(str::to_owned);
    SpeciesTotal {
        file: None,
        name: read.species.clone(),
        listed: read.listed,
        nearest: if read.listed { None } else { nearest() },
        first_line,
        records: 0,
        birds: 0,
        sites: BTreeMap::new(),
    }
}
