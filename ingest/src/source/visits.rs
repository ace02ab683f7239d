//! Rows of a visits file.

use super::columns::Dates;
use super::meaning;
use super::site_column::Sites;
use super::walk::{Fault, TakeRow, Walk};
use super::{Reading, VisitRows};
use crate::error::LoadError;
use crate::mapping::{Finder, SiteBook};
use crate::read::rows::Row;
use config::settings::VisitColumns;

/// The columns of a visits file and the rows taken so far.
pub(crate) struct Reader {
    dates: Dates,
    sites: Sites,
    visits: meaning::VisitColumns,
    rows: VisitRows,
}

impl Reader {
    pub(crate) fn new(
        reading: &Reading<'_>,
        columns: &VisitColumns,
        finder: &mut Finder<'_>,
        book: SiteBook,
    ) -> Result<Self, LoadError> {
        Ok(Reader {
            dates: Dates::new(reading, finder, &columns.date)?,
            sites: Sites::new(reading, finder, columns.site.as_ref(), book)?,
            visits: meaning::VisitColumns::new(reading, finder, columns.effort.as_ref())?,
            rows: VisitRows::default(),
        })
    }
}

/// Walks the table and hands back the accepted rows; the report is filled on the way.
pub(crate) fn read(
    mut reader: Reader,
    mut walk: Walk<'_, '_>,
    finder: Finder<'_>,
) -> Result<VisitRows, LoadError> {
    walk.rows(finder.header, &finder.used, &mut reader)?;
    reader.dates.check(walk.whose)?;
    let repairs = &mut walk.report.repairs;
    repairs.extend(reader.dates.repairs(&finder));
    repairs.extend(reader.sites.repairs(&finder));
    repairs.extend(reader.visits.repairs(&finder));
    walk.report.notes.extend(reader.dates.notes());
    walk.report.notes.extend(reader.visits.notes(&finder));
    walk.report.notes.extend(finder.notes);
    let mut rows = reader.rows;
    rows.sites = reader.sites.book.into_ids();
    rows.observers = reader.visits.observers.kept;
    Ok(rows)
}

impl TakeRow for Reader {
    fn take(&mut self, row: &Row<'_>) -> Result<bool, Fault> {
        let date = self.dates.read(row)?;
        let site = self.sites.read(row)?;
        let local = self.dates.at(date.value, site.value)?;
        let visit = self.visits.read(row)?;
        self.dates.accept(&date, local, row.line);
        self.sites.accept(site.place, row.line);
        let of_visit = self.visits.accept(&visit, row, site.value, local);
        self.rows.line.push(row.line as u32); // a file of 2 GiB at most has fewer lines
        self.rows.date.push(local);
        self.rows.site.push(site.value);
        self.rows.visit.push(of_visit);
        Ok(date.repaired || site.repaired || visit.repaired)
    }

    fn private_column(&self) -> Option<usize> {
        self.visits.observers.private_column()
    }
}
