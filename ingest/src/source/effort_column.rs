//! The effort column, where a source has one.

use super::columns::{Cell, Cells, Taken, repairs, taken};
use super::walk::Fault;
use crate::cell::{self, MeasureProblem, tidy};
use crate::error::LoadError;
use crate::intern::Interner;
use crate::mapping::Finder;
use crate::read::rows::Row;
use crate::report::{Note, Repair, grouped};

/// An effort column, where the source has one.
pub(crate) struct Efforts {
    column: Option<usize>,
    /// Rows taken with an empty cell.
    empty: u64,
    cells: Cells<Option<f64>, MeasureProblem>,
}

impl Efforts {
    pub(crate) fn new(finder: &mut Finder<'_>, name: Option<&String>) -> Result<Self, LoadError> {
        let column = finder.optional("effort", name)?;
        Ok(Efforts {
            column,
            empty: 0,
            cells: Interner::new(),
        })
    }

    pub(crate) fn read(&mut self, row: &Row<'_>) -> Result<Taken<Option<f64>>, Fault> {
        let Some(column) = self.column else {
            return Ok(Taken {
                value: None,
                place: 0,
                repaired: false,
            });
        };
        let place = self.cells.place(&row.cells[column], |text| {
            let (tidied, stray) = tidy(text);
            Cell {
                read: cell::effort(&tidied),
                repairs: stray.repairs(),
            }
        });
        taken(&self.cells, place, column)
    }

    pub(crate) fn accept(&mut self, place: u32, line: u64) {
        if self.column.is_some() {
            self.cells.accept(place, line);
            if matches!(self.cells.value(place).read, Ok(None)) {
                self.empty += 1;
            }
        }
    }

    /// Says how many rows that were taken have no effort although the source has a column of it.
    pub(crate) fn note(&self, finder: &Finder<'_>) -> Option<Note> {
        let (column, rows) = (self.column?, self.empty);
        let name = finder.header.name(column);
        let (have, their) = match rows {
            0 => return None,
            1 => (
                "row has",
                "its visit, where no other row tells its effort, is",
            ),
            _ => (
                "rows have",
                "their visits, where no other row tells their effort, are",
            ),
        };
        Some(Note {
            file: None,
            line: None,
            text: format!(
                "{} {have} nothing in {name:?}; {their} taken as standard in length.",
                grouped(rows)
            ),
        })
    }

    pub(crate) fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let column = self.column.map(|c| finder.header.name(c));
        let read_as = |effort: &Option<f64>| effort.map_or_else(String::new, |e| e.to_string());
        repairs(&self.cells, &column.unwrap_or_default(), read_as)
    }
}
