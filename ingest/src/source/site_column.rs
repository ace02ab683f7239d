//! The site column, which sources of every kind share.

use super::Reading;
use super::columns::{Cell, Cells, Taken, repairs, taken};
use super::coordinates::Coordinates;
use super::walk::Fault;
use crate::cell::tidy;
use crate::error::LoadError;
use crate::intern::Interner;
use crate::mapping::{Finder, SiteBook, SiteProblem};
use crate::read::rows::Row;
use crate::report::Repair;

/// The site column, or the one site of every row.
pub(crate) struct Sites {
    pub(crate) book: SiteBook,
    from: From,
}

enum From {
    Column(usize, Cells<u32, SiteProblem>),
    Source(u32),
    Coordinates(Coordinates),
}

impl Sites {
    pub(crate) fn new(
        reading: &Reading<'_>,
        finder: &mut Finder<'_>,
        name: Option<&String>,
        book: SiteBook,
    ) -> Result<Self, LoadError> {
        let from = match (
            finder.optional("site", name)?,
            Coordinates::new(reading, finder)?,
        ) {
            (Some(column), _) => From::Column(column, Interner::new()),
            (None, Some(coordinates)) => From::Coordinates(coordinates),
            (None, None) => From::Source(book.of_source(reading.source)?),
        };
        Ok(Sites { book, from })
    }

    pub(crate) fn read(&mut self, row: &Row<'_>) -> Result<Taken<u32>, Fault> {
        let (column, cells) = match &mut self.from {
            From::Column(column, cells) => (*column, cells),
            From::Source(site) => {
                return Ok(Taken {
                    value: *site,
                    place: 0,
                    repaired: false,
                });
            }
            From::Coordinates(coordinates) => return coordinates.read(row),
        };
        let book = &self.book;
        let place = cells.place(&row.cells[column], |text| site_cell(text, book));
        taken(cells, place, column)
    }

    /// The column that names the site.
    pub(super) fn column(&self) -> Option<usize> {
        match &self.from {
            From::Column(column, _) => Some(*column),
            From::Coordinates(_) | From::Source(_) => None,
        }
    }

    pub(super) fn last_column(&self) -> usize {
        match &self.from {
            From::Column(column, _) => *column,
            From::Coordinates(coordinates) => coordinates.last_column(),
            From::Source(_) => 0,
        }
    }

    pub(crate) fn accept(&mut self, place: u32, line: u64) {
        match &mut self.from {
            From::Column(_, cells) => cells.accept(place, line),
            From::Coordinates(coordinates) => coordinates.accept(place, line),
            From::Source(_) => {}
        }
    }

    pub(crate) fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        match &self.from {
            From::Source(_) => Vec::new(),
            From::Coordinates(coordinates) => coordinates.repairs(finder),
            From::Column(column, cells) => {
                let read_as = |site: &u32| self.book.id(*site).to_owned();
                repairs(cells, &finder.header.name(*column), read_as)
            }
        }
    }
}

fn site_cell(text: &str, book: &SiteBook) -> Cell<u32, SiteProblem> {
    let (tidied, stray) = tidy(text);
    let mut repairs = stray.repairs();
    let read = book.read(&tidied).map(|(site, more)| {
        repairs.extend(more);
        site
    });
    Cell { read, repairs }
}
