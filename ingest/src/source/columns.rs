//! Cells as read, and the date column, which sources of every kind share.

use super::Reading;
use super::site_column::Sites;
use super::walk::Fault;
use crate::cell::{Stray, tidy};
use crate::date::{self, DateProblem, OrderCheck, ReadDate, order_name};
use crate::error::{LoadError, WrongDateOrder};
use crate::intern::Interner;
use crate::mapping::Finder;
use crate::moment::{self, TimeOfDay};
use crate::read::header::Whose;
use crate::read::rows::Row;
use crate::report::{EXAMPLES_KEPT, Note, Repair, RepairExample, RepairKind};
use crate::totals::TotalsWords;
use chrono::NaiveDate;
use chrono_tz::Tz;
use config::meaning::Night;
use config::settings::DateOrder;

/// What is read from a cell, and what was repaired on the way.
pub(crate) struct Cell<T, E> {
    pub(crate) read: Result<T, E>,
    pub(crate) repairs: Vec<RepairKind>,
}

pub(crate) type Cells<T, E> = Interner<Cell<T, E>>;

/// The repairs made in a column, by kind.
pub(crate) fn repairs<T, E>(
    cells: &Cells<T, E>,
    column: &str,
    read_as: impl Fn(&T) -> String,
) -> Vec<Repair> {
    let mut repairs: Vec<Repair> = Vec::new();
    for entry in cells.entries().iter().filter(|e| e.rows > 0) {
        let Ok(value) = &entry.value.read else {
            continue;
        };
        for &kind in &entry.value.repairs {
            let example = RepairExample {
                file: None,
                line: entry.first_line,
                written: entry.written.clone(),
                read_as: read_as(value),
                rows: entry.rows,
            };
            add_example(&mut repairs, kind, column, example);
        }
    }
    repairs
}

/// Adds rows with one and the same cell.
pub(crate) fn add_example(
    repairs: &mut Vec<Repair>,
    kind: RepairKind,
    column: &str,
    example: RepairExample,
) {
    let same = |r: &Repair| r.kind == kind && r.column == column;
    let place = repairs.iter().position(same).unwrap_or_else(|| {
        repairs.push(Repair {
            file: None,
            kind,
            column: column.to_owned(),
            rows: 0,
            cells: 0,
            first_line: example.line,
            examples: Vec::new(),
        });
        repairs.len() - 1
    });
    let repair = &mut repairs[place];
    repair.rows += example.rows;
    repair.cells += 1;
    repair.first_line = repair.first_line.min(example.line);
    if repair.examples.len() < EXAMPLES_KEPT {
        repair.examples.push(example);
    }
}

/// A cell as read: its value, the place of its entry, and whether it was repaired.
pub(crate) struct Taken<T> {
    pub(crate) value: T,
    pub(crate) place: u32,
    pub(crate) repaired: bool,
}

/// The value of a cell's entry, or the fault of its column.
pub(crate) fn taken<T: Copy, E: std::fmt::Display>(
    cells: &Cells<T, E>,
    place: u32,
    column: usize,
) -> Result<Taken<T>, Fault> {
    let cell = cells.value(place);
    match &cell.read {
        Ok(value) => Ok(Taken {
            value: *value,
            place,
            repaired: !cell.repairs.is_empty(),
        }),
        Err(problem) => Err(Fault::in_column(column, problem)),
    }
}

/// The date column.
pub(crate) struct Dates {
    pub(crate) column: usize,
    order: DateOrder,
    /// Dates in ISO 8601 are taken whatever the order.
    true_dates: bool,
    latest: NaiveDate,
    cells: Cells<ReadDate, DateProblem>,
    /// Time zones by place of the site.
    zones: Vec<Tz>,
    night: Option<Night>,
    totals: TotalsWords,
    /// Rows whose local date, or the date of whose night, is another than the one written.
    moved: (u64, u64),
    /// Orders that fit, by place of the cell.
    fits: Vec<Vec<DateOrder>>,
    check: OrderCheck,
}

impl Dates {
    pub(crate) fn new(
        reading: &Reading<'_>,
        finder: &mut Finder<'_>,
        name: &str,
    ) -> Result<Self, LoadError> {
        Ok(Dates {
            column: finder.column("date", name)?,
            order: reading.date_order,
            true_dates: reading.true_dates,
            latest: reading.latest,
            cells: Interner::new(),
            zones: reading
                .workspace
                .sites
                .iter()
                .map(|s| s.time_zone)
                .collect(),
            night: reading.source.meaning.night,
            totals: TotalsWords::of(reading.source),
            moved: (0, 0),
            fits: Vec::new(),
            check: OrderCheck::default(),
        })
    }

    pub(crate) fn read(&mut self, row: &Row<'_>) -> Result<Taken<ReadDate>, Fault> {
        let written = &row.cells[self.column];
        let (order, true_dates) = (self.order, self.true_dates);
        let (latest, fits) = (self.latest, &mut self.fits);
        let (of_night, totals) = (self.night.is_some(), &self.totals);
        let place = self.cells.place(written, |text| {
            let (tidied, stray) = tidy(text);
            let iso = true_dates && date::is_iso(&tidied);
            // a true date speaks neither for nor against the order of the written ones
            fits.push(if iso {
                Vec::new()
            } else {
                date::fitting(&tidied)
            });
            let order = if iso { DateOrder::YearMonthDay } else { order };
            let mut cell = date_cell(&tidied, stray, (order, of_night), latest);
            if cell.read.is_err() && totals.begins(&tidied) {
                cell.read = Err(DateProblem::Totals);
            }
            cell
        });
        let fits = &self.fits[place as usize];
        self.check.row(order, fits, row.line, written);
        taken(&self.cells, place, self.column)
    }

    /// Cells that a row must have for its date and site to be read.
    pub(crate) fn columns_needed(&self, sites: &Sites) -> usize {
        1 + self.column.max(sites.last_column())
    }

    /// The date at the site, by its place: a written zone is turned into the site's own.
    pub(crate) fn at(&self, read: ReadDate, site: u32) -> Result<NaiveDate, Fault> {
        let zone = self.zones.get(site as usize);
        let local = match read.time.zip(zone) {
            None => Some(read.date),
            Some((time, zone)) => moment::local_date(read.date, time, *zone, self.night),
        };
        match local {
            Some(date) if date <= self.latest => Ok(date),
            _ => Err(Fault::in_column(self.column, DateProblem::Future)),
        }
    }

    pub(crate) fn accept(&mut self, read: &Taken<ReadDate>, local: NaiveDate, line: u64) {
        self.cells.accept(read.place, line);
        if read.value.date != local {
            self.moved.0 += 1;
            if self.moved.0 == 1 {
                self.moved.1 = line;
            }
        }
    }

    /// What is to be known of times of day.
    pub(crate) fn notes(&self) -> Vec<Note> {
        let (rows, line) = self.moved;
        let note = |rows| Note {
            file: None,
            line: Some(line),
            text: format!(
                "Rows whose time of day puts them on another local date, or on that of their \
                 night, than the one written: {rows}."
            ),
        };
        (rows > 0).then(|| note(rows)).into_iter().collect()
    }

    /// Stops where the stated order cannot be.
    pub(crate) fn check(&self, whose: Whose<'_>) -> Result<(), LoadError> {
        let Some((fits, against, rows_stated)) = self.check.verdict() else {
            return Ok(());
        };
        Err(LoadError::DateOrder(Box::new(WrongDateOrder {
            file: whose.file.to_owned(),
            line: against.line,
            value: against.value.clone(),
            stated: order_name(self.order),
            fits: order_name(fits),
            rows: against.rows,
            rows_stated,
            source_id: whose.source_id.to_owned(),
        })))
    }

    pub(crate) fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        repairs(&self.cells, &finder.header.name(self.column), |read| {
            read.date.to_string()
        })
    }
}

/// A time of day that decides the date is not left out.
fn date_cell(
    tidied: &str,
    stray: Stray,
    (order, of_night): (DateOrder, bool),
    latest: NaiveDate,
) -> Cell<ReadDate, DateProblem> {
    let read = date::read(tidied, order, latest);
    let mut repairs = stray.repairs();
    let idle = |time: &TimeOfDay| time.offset_min.is_none() && !of_night;
    if read.is_ok_and(|r| r.time.as_ref().is_some_and(idle)) {
        repairs.push(RepairKind::TimeOfDay);
    }
    Cell { read, repairs }
}
