//! The count column of a counts file, and the status beside it.

use super::Reading;
use super::columns::{Cell, Cells, Taken, repairs, taken};
use super::meaning::WordColumn;
use super::walk::Fault;
use crate::cell::tidy;
use crate::count::{CountProblem, CountReader};
use crate::error::LoadError;
use crate::intern::Interner;
use crate::mapping::Finder;
use crate::nothing;
use crate::read::rows::Row;
use crate::report::Repair;
use config::settings::CountColumns;
use forecast::series::Count;

/// The column with the number of birds, and the one that says present or absent.
pub(super) struct Counts {
    /// None where each row is a bird.
    column: Option<usize>,
    reader: CountReader,
    cells: Cells<Count, CountProblem>,
    /// True where the row says present, false where it says absent.
    status: WordColumn<bool>,
}

impl Counts {
    pub(super) fn new(
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

    pub(super) fn read(&mut self, row: &Row<'_>) -> Result<CountRead, Fault> {
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

    /// The count of a row that says that nothing was found, which may leave it out or repeat it in
    /// words; None where the row has birds all the same.
    pub(super) fn read_none(&mut self, row: &Row<'_>) -> Result<Option<CountRead>, Fault> {
        let status = self.status.read(row)?;
        if status.value == Some(true) || !self.is_silent(row) {
            let read = self.read(row)?;
            return Ok((read.value == Count::Exactly(0)).then_some(read));
        }
        Ok(Some(CountRead {
            value: Count::Exactly(0),
            place: PLAIN,
            repaired: status.repaired,
            status: status.place,
        }))
    }

    /// Is there no number, nor anything that stands for one?
    fn is_silent(&self, row: &Row<'_>) -> bool {
        self.column.is_none_or(|column| {
            let text = String::from_utf8_lossy(&row.cells[column]);
            let cell = tidy(&text).0;
            cell.is_empty() || nothing::is_said(&cell)
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

    /// The number of a row that is written in digits alone.
    pub(super) fn plain(&self, row: &Row<'_>) -> Option<u32> {
        let cell = row.cells.get(self.column?)?;
        self.reader.plain(cell.trim_ascii())
    }

    pub(super) fn accept(&mut self, count: &CountRead, line: u64) {
        if count.place != PLAIN {
            self.cells.accept(count.place, line);
        }
        self.status.accept(count.status, line);
    }

    pub(super) fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let mut all = self.status.repairs(finder);
        if let Some(column) = self.column {
            let read_as = |count: &Count| count.birds().to_string();
            all.extend(repairs(&self.cells, &finder.header.name(column), read_as));
        }
        all
    }
}

/// A row's count, and the entries to be counted where the row is accepted.
pub(super) struct CountRead {
    pub(super) value: Count,
    place: u32,
    pub(super) repaired: bool,
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
