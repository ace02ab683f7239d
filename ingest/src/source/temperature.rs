//! Rows of a temperature file.

use super::columns::{Cell, Cells, Dates, Sites, repairs, taken};
use super::walk::{Fault, TakeRow, Walk};
use super::{Reading, TemperatureRows};
use crate::cell::{self, MeasureProblem, tidy};
use crate::error::LoadError;
use crate::intern::Interner;
use crate::mapping::{Finder, SiteBook};
use crate::read::rows::Row;
use chrono::NaiveDate;
use config::settings::TemperatureColumns;
use std::collections::HashMap;

/// The columns of a temperature file and the rows taken so far.
pub(crate) struct Reader {
    dates: Dates,
    /// None where the series serves all sites.
    sites: Option<Sites>,
    mean_column: usize,
    means: Cells<f64, MeasureProblem>,
    /// Line of each day's temperature.
    seen: HashMap<(NaiveDate, Option<u32>), u64>,
    rows: TemperatureRows,
}

impl Reader {
    pub(crate) fn new(
        reading: &Reading<'_>,
        columns: &TemperatureColumns,
        finder: &mut Finder<'_>,
        book: SiteBook,
    ) -> Result<Self, LoadError> {
        let one_site = columns.site.is_some() || reading.source.site.is_some();
        let sites = one_site.then(|| Sites::new(reading, finder, columns.site.as_ref(), book));
        Ok(Reader {
            dates: Dates::new(reading, finder, &columns.date)?,
            sites: sites.transpose()?,
            mean_column: finder.column("mean_c", &columns.mean_c)?,
            means: Interner::new(),
            seen: HashMap::new(),
            rows: TemperatureRows::default(),
        })
    }
}

/// Walks the table and hands back the accepted rows; the report is filled on the way.
pub(crate) fn read(
    mut reader: Reader,
    mut walk: Walk<'_, '_>,
    finder: Finder<'_>,
) -> Result<TemperatureRows, LoadError> {
    walk.rows(finder.header, &finder.used, &mut reader)?;
    reader.dates.check(walk.whose)?;
    let all = &mut walk.report.repairs;
    all.extend(reader.dates.repairs(&finder));
    all.extend(reader.sites.iter().flat_map(|s| s.repairs(&finder)));
    let column = finder.header.name(reader.mean_column);
    all.extend(repairs(&reader.means, &column, f64::to_string));
    walk.report.notes.extend(finder.notes);
    let mut rows = reader.rows;
    rows.sites = reader.sites.map_or_else(Vec::new, |s| s.book.into_ids());
    Ok(rows)
}

impl TakeRow for Reader {
    fn take(&mut self, row: &Row<'_>) -> Result<bool, Fault> {
        let date = self.dates.read(row)?;
        let site = self.sites.as_mut().map(|s| s.read(row)).transpose()?;
        let place = self.means.place(&row.cells[self.mean_column], |text| {
            let (tidied, stray) = tidy(text);
            Cell {
                read: cell::temperature(&tidied),
                repairs: stray.repairs(),
            }
        });
        let mean = taken(&self.means, place, self.mean_column)?;
        let site_place = site.as_ref().map(|s| s.value);
        self.only_one(date.value, site_place, row.line)?;
        self.dates.accept(date.place, row.line);
        if let (Some(sites), Some(site)) = (&mut self.sites, &site) {
            sites.accept(site.place, row.line);
        }
        self.means.accept(place, row.line);
        self.rows.line.push(row.line as u32); // a file of 2 GiB at most has fewer lines
        self.rows.date.push(date.value);
        self.rows.site.push(site_place);
        self.rows.mean_c.push(mean.value);
        Ok(date.repaired || mean.repaired || site.is_some_and(|s| s.repaired))
    }
}

impl Reader {
    fn only_one(&mut self, date: NaiveDate, site: Option<u32>, line: u64) -> Result<(), Fault> {
        let first = *self.seen.entry((date, site)).or_insert(line);
        if first == line {
            return Ok(());
        }
        let reason = format!("a second temperature of that day; the first stands in line {first}");
        Err(Fault::in_column(self.dates.column, reason))
    }
}
