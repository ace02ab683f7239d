//! Rows of a counts file.

use super::columns::{Cell, Cells, Dates, Taken, repairs, taken};
use super::looks::LooksColumns;
use super::meaning::{VisitColumns, WordColumn};
use super::names::SpeciesColumn;
use super::site_column::Sites;
use super::walk::{Fault, TakeRow, Walk, cell_text};
use super::{CountRows, Reading, Unread};
use crate::cell::tidy;
use crate::count::{CountProblem, CountReader};
use crate::error::LoadError;
use crate::intern::Interner;
use crate::mapping::{Finder, SiteBook};
use crate::names::LeftUnknown;
use crate::read::rows::Row;
use crate::report::{Note, Repair};
use chrono::NaiveDate;
use config::settings::CountColumns;
use forecast::series::Count;

/// The columns of a counts file and the rows taken so far.
pub(crate) struct Reader {
    dates: Dates,
    sites: Sites,
    visits: VisitColumns,
    species: SpeciesColumn,
    counts: Counts,
    looks: LooksColumns,
    rows: CountRows,
    /// Date and site of the last row that had both.
    last: Option<(NaiveDate, u32)>,
}

struct Counts {
    /// None where each row is a bird.
    column: Option<usize>,
    reader: CountReader,
    cells: Cells<Count, CountProblem>,
    /// True where the row says present, false where it says absent.
    status: WordColumn<bool>,
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
            visits: VisitColumns::new(reading, finder, columns.effort.as_ref())?,
            species: SpeciesColumn::new(reading, finder, &columns.species)?,
            counts: Counts::new(reading, columns, finder)?,
            looks: LooksColumns::new(reading, finder)?,
            rows: CountRows::default(),
            last: None,
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
    walk.report.notes.extend(reader.notes(&finder));
    let Reader {
        species,
        mut rows,
        sites,
        looks,
        visits,
        ..
    } = reader;
    rows.sites = sites.book.into_ids();
    walk.report.species = species.totals(&rows);
    rows.names = species.into_names();
    rows.all_looks = looks.all;
    rows.observers = visits.observers.kept;
    walk.report.notes.extend(finder.notes);
    Ok(rows)
}

impl Reader {
    fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let mut all = self.dates.repairs(finder);
        all.extend(self.sites.repairs(finder));
        all.extend(self.species.repairs(finder));
        all.extend(self.counts.repairs(finder));
        all.extend(self.visits.repairs(finder));
        all
    }

    fn notes(&self, finder: &Finder<'_>) -> Vec<Note> {
        let mut all = self.dates.notes();
        all.extend(self.visits.notes(finder));
        all.extend(self.species.undecided_notes());
        all.extend(self.rows.unread_notes());
        all
    }

    fn date_and_site(&mut self, row: &Row<'_>) -> Result<Place, Fault> {
        let date = self.dates.read(row)?;
        let site = self.sites.read(row)?;
        Ok(Place {
            local: self.dates.at(date.value, site.value)?,
            date,
            site,
        })
    }

    /// The rest of a row of a known place: its species first, for what follows is of it.
    fn take_at(&mut self, row: &Row<'_>, place: &Place) -> Result<bool, Fault> {
        let name = self.species.read(row, place.local)?;
        let count = self.counts.read(row)?;
        let visit = self.visits.read(row)?;
        self.dates.accept(&place.date, place.local, row.line);
        self.sites.accept(place.site.place, row.line);
        self.species.accept(&name, row.line);
        self.counts.accept(&count, row.line);
        let site = place.site.value;
        let of_visit = self.visits.accept(&visit, row, site, place.local);
        self.rows.line.push(row.line as u32); // a file of 2 GiB at most has fewer lines
        self.rows.date.push(place.local);
        self.rows.site.push(site);
        self.rows.name.push(name.value);
        self.rows.count.push(count.value);
        self.rows.visit.push(of_visit);
        self.rows.looks.push(self.looks.read(row));
        let repaired = [
            place.date.repaired,
            place.site.repaired,
            name.repaired,
            count.repaired,
            visit.repaired,
        ];
        Ok(repaired.contains(&true))
    }

    /// Where a row has no date, that of the rows above may be meant, and a bird of their visit.
    fn unplaced(&mut self, row: &Row<'_>) {
        let written = &row.cells[self.dates.column];
        if let Some((date, site)) = self.last.filter(|_| written.trim_ascii().is_empty()) {
            self.rows.unread.push(Unread {
                line: row.line as u32, // as above
                date,
                site,
                species: None,
                visit: Default::default(),
            });
        }
    }

    /// Notes what a row leaves unknown of its visit.
    fn leave_unknown(&mut self, row: &Row<'_>, place: &Place, unknown: LeftUnknown) {
        let species: Vec<Option<String>> = match unknown {
            LeftUnknown::Nothing => Vec::new(),
            LeftUnknown::Species(names) => names.into_iter().map(Some).collect(),
            LeftUnknown::Any => vec![None],
        };
        let visit = self.visits.of_refused(row);
        for species in species {
            self.rows.unread.push(Unread {
                line: row.line as u32, // as above
                date: place.local,
                site: place.site.value,
                species,
                visit,
            });
        }
    }
}

/// Where and when a row is from.
struct Place {
    date: Taken<crate::date::ReadDate>,
    site: Taken<u32>,
    local: NaiveDate,
}

impl TakeRow for Reader {
    fn take(&mut self, row: &Row<'_>) -> Result<bool, Fault> {
        let place = self.date_and_site(row);
        let place = place.inspect_err(|_| self.unplaced(row))?;
        self.last = Some((place.local, place.site.value));
        let taken = self.take_at(row, &place);
        // a bird that was not found leaves no doubt which one it was
        if taken.is_err() || self.rows.count.last() != Some(&Count::Exactly(0)) {
            let unknown = self.species.left_unknown(row, place.local, taken.is_ok());
            self.leave_unknown(row, &place, unknown);
        }
        taken
    }

    /// Cells may have shifted, so that its species is not to be believed.
    fn unsound(&mut self, row: &Row<'_>) {
        if row.cells.len() < self.dates.columns_needed(&self.sites) {
            return;
        }
        if let Ok(place) = self.date_and_site(row) {
            self.rows.unread.push(Unread {
                line: row.line as u32, // as above
                date: place.local,
                site: place.site.value,
                species: None,
                visit: Default::default(),
            });
        }
    }

    fn private_column(&self) -> Option<usize> {
        self.visits.observers.private_column()
    }

    fn written(&self, row: &Row<'_>, column: usize) -> String {
        self.species
            .written(row, column)
            .unwrap_or_else(|| cell_text(row, column))
    }
}

impl Counts {
    fn new(
        reading: &Reading<'_>,
        columns: &CountColumns,
        finder: &mut Finder<'_>,
    ) -> Result<Self, LoadError> {
        let meaning = &reading.source.meaning;
        let words: [(&[String], bool); 2] = [
            (&meaning.words.present, true),
            (&meaning.words.absent, false),
        ];
        Ok(Counts {
            column: finder.optional("count", columns.count.as_ref())?,
            reader: CountReader::new(&columns.tokens),
            cells: Interner::new(),
            status: WordColumn::new(finder, "status", meaning.columns.status.as_ref(), words)?,
        })
    }

    fn read(&mut self, row: &Row<'_>) -> Result<CountRead, Fault> {
        let status = self.status.read(row)?;
        let read = match self.number(row, status.value)? {
            Some(taken) => taken,
            None => plain(match status.value {
                Some(false) => Count::Exactly(0),
                _ => Count::Present,
            }),
        };
        if let (Some(status), Some(column)) = (status.value, self.column)
            && read.value.found() != Some(status)
        {
            let said = if status { "present" } else { "absent" };
            return Err(Fault::in_column(
                column,
                format!("the row's status says {said}"),
            ));
        }
        Ok(CountRead {
            value: read.value,
            place: read.place,
            repaired: read.repaired || status.repaired,
            status: status.place,
        })
    }

    /// What the count column says; None where its cell is empty and the status is all there is.
    fn number(
        &mut self,
        row: &Row<'_>,
        status: Option<bool>,
    ) -> Result<Option<Taken<Count>>, Fault> {
        let Some(column) = self.column else {
            let absent = status == Some(false);
            return Ok(Some(plain(Count::Exactly(u32::from(!absent)))));
        };
        let written = &row.cells[column];
        if let Some(birds) = self.reader.plain(written) {
            return Ok(Some(plain(Count::Exactly(birds))));
        }
        if status.is_some() && written.trim_ascii().is_empty() {
            return Ok(None);
        }
        let reader = &self.reader;
        let place = self.cells.place(written, |text| {
            let (tidied, stray) = tidy(text);
            Cell {
                read: reader.read(&tidied),
                repairs: stray.repairs(),
            }
        });
        taken(&self.cells, place, column).map(Some)
    }

    fn accept(&mut self, count: &CountRead, line: u64) {
        if count.place != PLAIN {
            self.cells.accept(count.place, line);
        }
        self.status.accept(count.status, line);
    }

    fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let mut all = self.status.repairs(finder);
        if let Some(column) = self.column {
            let read_as = |count: &Count| count.birds().to_string();
            all.extend(repairs(&self.cells, &finder.header.name(column), read_as));
        }
        all
    }
}

/// A row's count, and the entries to be counted where the row is accepted.
struct CountRead {
    value: Count,
    place: u32,
    repaired: bool,
    status: u32,
}

fn plain(count: Count) -> Taken<Count> {
    Taken {
        value: count,
        place: PLAIN,
        repaired: false,
    }
}

/// Stands for a count that needed no entry.
const PLAIN: u32 = u32::MAX;
