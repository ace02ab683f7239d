//! Rows of a temperature file.

use super::columns::{Cell, Cells, Dates, Taken, repairs, taken};
use super::degrees::{DegreesProblem, OfDay, UnitCheck, degrees, stated_unit, unit_name};
use super::site_column::Sites;
use super::walk::{Fault, TakeRow, Walk};
use super::{Reading, TemperatureRows, degrees_filled};
use crate::cell::tidy;
use crate::error::{LoadError, WarmDays, WrongUnit};
use crate::intern::Interner;
use crate::mapping::{Finder, SiteBook};
use crate::read::header::Whose;
use crate::read::rows::Row;
use crate::report::Repair;
use chrono::NaiveDate;
use config::settings::{TemperatureColumns, TemperatureUnit};
use std::collections::HashMap;

/// The columns of a temperature file and the rows taken so far.
pub(crate) struct Reader {
    dates: Dates,
    /// None where the series serves all sites.
    sites: Option<Sites>,
    mean: Option<Degrees>,
    /// Minimum and maximum.
    extremes: Option<[Degrees; 2]>,
    /// Line of each day's temperature.
    seen: HashMap<(NaiveDate, Option<u32>), u64>,
    rows: TemperatureRows,
}

/// A column of temperatures.
struct Degrees {
    column: usize,
    unit: TemperatureUnit,
    of: OfDay,
    /// deg C.
    cells: Cells<f64, DegreesProblem>,
    check: UnitCheck,
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
        let mut degrees = |key, of, name| Degrees::new(finder, (key, of), name, columns.unit);
        let mean = columns.mean.as_ref();
        let mean = mean.map(|name| degrees("mean", OfDay::Mean, name));
        let extremes = columns.extremes.as_ref().map(|(min, max)| {
            let (min, max) = (
                degrees("min", OfDay::Min, min)?,
                degrees("max", OfDay::Max, max)?,
            );
            Ok::<_, LoadError>([min, max])
        });
        Ok(Reader {
            mean: mean.transpose()?,
            extremes: extremes.transpose()?,
            dates: Dates::new(reading, finder, &columns.date)?,
            sites: sites.transpose()?,
            seen: HashMap::new(),
            rows: TemperatureRows::default(),
        })
    }

    fn columns(&self) -> impl Iterator<Item = &Degrees> {
        self.mean.iter().chain(self.extremes.iter().flatten())
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
    reader
        .columns()
        .try_for_each(|column| column.check(&finder, walk.whose))?;
    let all = &mut walk.report.repairs;
    all.extend(reader.dates.repairs(&finder));
    all.extend(reader.sites.iter().flat_map(|s| s.repairs(&finder)));
    all.extend(reader.columns().flat_map(|c| c.repairs(&finder)));
    walk.report.notes.extend(finder.notes);
    let mut rows = reader.rows;
    rows.sites = reader.sites.map_or_else(Vec::new, |s| s.book.into_ids());
    walk.report.notes.extend(degrees_filled::fill(&mut rows));
    Ok(rows)
}

impl TakeRow for Reader {
    fn take(&mut self, row: &Row<'_>) -> Result<bool, Fault> {
        let date = self.dates.read(row)?;
        let site = self.sites.as_mut().map(|s| s.read(row)).transpose()?;
        let site_place = site.as_ref().map(|s| s.value);
        let local = match site_place {
            Some(site) => self.dates.at(date.value, site)?,
            None => date.value.date,
        };
        let mean = self.mean.as_mut().map(|m| m.read(row)).transpose()?;
        let extremes = self.extremes.as_mut().map(|e| both(e, row)).transpose()?;
        self.only_one(local, site_place, row.line)?;
        self.dates.accept(&date, local, row.line);
        if let (Some(sites), Some(site)) = (&mut self.sites, &site) {
            sites.accept(site.place, row.line);
        }
        let read: Vec<&Taken<f64>> = mean.iter().chain(extremes.iter().flatten()).collect();
        let columns = self
            .mean
            .iter_mut()
            .chain(self.extremes.iter_mut().flatten());
        columns
            .zip(&read)
            .for_each(|(column, taken)| column.cells.accept(taken.place, row.line));
        let extremes_c = extremes.as_ref().map(|[min, max]| (min.value, max.value));
        // The mean of a day of which the extremes alone are known, as meteorological services
        // reckon it (World Meteorological Organization, Guide to Climatological Practices, No. 100).
        let midrange = extremes_c.map_or(f64::NAN, |(min, max)| (min + max) / 2.0);
        self.rows.line.push(row.line as u32); // a file of 2 GiB at most has fewer lines
        self.rows.date.push(local);
        self.rows.site.push(site_place);
        self.rows
            .mean_c
            .push(mean.as_ref().map_or(midrange, |m| m.value));
        self.rows.extremes_c.push(extremes_c);
        self.rows.filled.push(false);
        let repaired = date.repaired || site.is_some_and(|s| s.repaired);
        Ok(repaired || read.iter().any(|t| t.repaired))
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

impl Degrees {
    fn new(
        finder: &mut Finder<'_>,
        (key, of): (&'static str, OfDay),
        name: &str,
        unit: TemperatureUnit,
    ) -> Result<Self, LoadError> {
        let column = finder.column(key, name)?;
        let header = finder.header.name(column);
        match stated_unit(&header).filter(|stated| *stated != unit) {
            None => Ok(Degrees {
                column,
                unit,
                of,
                cells: Interner::new(),
                check: UnitCheck::default(),
            }),
            Some(stated) => Err(WrongUnit {
                file: finder.whose.file.to_owned(),
                line: finder.header.line,
                column: header,
                stated: unit_name(stated),
                read: unit_name(unit),
                source_id: finder.whose.source_id.to_owned(),
            }
            .into()),
        }
    }

    /// Stops where days read in Celsius must be in Fahrenheit.
    fn check(&self, finder: &Finder<'_>, whose: Whose<'_>) -> Result<(), LoadError> {
        let Some((too_warm, days, line, value)) = self.check.verdict() else {
            return Ok(());
        };
        Err(WarmDays {
            file: whose.file.to_owned(),
            line,
            column: finder.header.name(self.column),
            value: value.to_owned(),
            too_warm,
            days,
            source_id: whose.source_id.to_owned(),
        }
        .into())
    }

    fn read(&mut self, row: &Row<'_>) -> Result<Taken<f64>, Fault> {
        let (unit, of) = (self.unit, self.of);
        let place = self.cells.place(&row.cells[self.column], |text| {
            let (tidied, stray) = tidy(text);
            Cell {
                read: degrees(&tidied, unit, of),
                repairs: stray.repairs(),
            }
        });
        let read = self.cells.value(place).read.as_ref().map(|_| ());
        self.check.cell(read, row.line, &row.cells[self.column]);
        taken(&self.cells, place, self.column)
    }

    fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        repairs(
            &self.cells,
            &finder.header.name(self.column),
            f64::to_string,
        )
    }
}

/// Minimum and maximum of a row.
fn both([min, max]: &mut [Degrees; 2], row: &Row<'_>) -> Result<[Taken<f64>; 2], Fault> {
    let column = max.column;
    let (min, max) = (min.read(row)?, max.read(row)?);
    if min.value > max.value {
        return Err(Fault::in_column(
            column,
            "a maximum below the day's minimum",
        ));
    }
    Ok([min, max])
}
