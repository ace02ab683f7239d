//! A source's rows as a Parquet file, written and read by polars.

use super::error::StoreError;
use super::ledger::BatchRow;
use super::sweep::PARTIAL;
use crate::report::Kind;
use crate::source::{Batch, CountRows, DaysBySite, TemperatureRows, VisitRows};
use chrono::{Days, NaiveDate};
use forecast::series::Count;
use polars::prelude::*;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

/// Writes the file beside its place, makes sure of it on the disk and moves it there; its length.
pub(super) fn write(path: &Path, batch: &Batch) -> Result<u64, StoreError> {
    let mut partial = path.as_os_str().to_owned();
    partial.push(PARTIAL);
    let partial = PathBuf::from(partial);
    let disk = |cause| StoreError::Disk {
        path: path.to_owned(),
        doing: "written",
        cause,
    };
    let file = File::create(&partial).map_err(disk)?;
    let mut buffered = BufWriter::new(&file);
    let written =
        frame(batch).and_then(|mut frame| ParquetWriter::new(&mut buffered).finish(&mut frame));
    written.map_err(|e| disk(std::io::Error::other(e)))?;
    buffered.flush().map_err(disk)?;
    drop(buffered);
    file.sync_all().map_err(disk)?;
    let bytes = file.metadata().map_err(disk)?.len();
    std::fs::rename(&partial, path).map_err(disk)?;
    sync_folder(path).map_err(disk)?;
    Ok(bytes)
}

/// Elsewhere than on Unix a folder cannot be opened, and a move is made sure of by the system.
fn sync_folder(path: &Path) -> std::io::Result<()> {
    match path.parent() {
        Some(folder) if cfg!(unix) => File::open(folder)?.sync_all(),
        _ => Ok(()),
    }
}

/// All that the file of a batch holds.
pub(super) fn whole(folder: &Path, batch: &BatchRow) -> PolarsResult<DataFrame> {
    ParquetReader::new(File::open(folder.join(&batch.parquet))?).finish()
}

pub(super) fn frame(batch: &Batch) -> PolarsResult<DataFrame> {
    DataFrame::new_infer_height(match batch {
        Batch::Counts(rows) => count_columns(rows),
        Batch::Visits(rows) => visit_columns(rows),
        Batch::Temperature(rows) => temperature_columns(rows),
    })
}

fn count_columns(rows: &CountRows) -> Vec<Column> {
    let name = |place: &u32| &rows.names[*place as usize];
    let number = |count: &Count| match count {
        Count::Present | Count::Unknown => None,
        _ => Some(count.birds()),
    };
    vec![
        lines(&rows.line),
        dates(&rows.date),
        texts(
            "site",
            rows.site.iter().map(|s| rows.sites[*s as usize].as_str()),
        ),
        texts(
            "species",
            rows.name.iter().map(|n| name(n).species.as_str()),
        ),
        texts("kind", rows.count.iter().map(kind_of)),
        UInt32Chunked::from_iter_options("number".into(), rows.count.iter().map(number))
            .into_column(),
        numbers("effort", rows.effort.iter().copied()),
        StringChunked::from_iter_options(
            "written".into(),
            rows.name.iter().map(|n| name(n).written.as_deref()),
        )
        .into_column(),
    ]
}

fn visit_columns(rows: &VisitRows) -> Vec<Column> {
    vec![
        lines(&rows.line),
        dates(&rows.date),
        texts(
            "site",
            rows.site.iter().map(|s| rows.sites[*s as usize].as_str()),
        ),
        numbers("effort", rows.effort.iter().copied()),
        texts("purpose", rows.site.iter().map(|_| "standard")),
    ]
}

fn temperature_columns(rows: &TemperatureRows) -> Vec<Column> {
    let site = |site: &Option<u32>| site.map(|s| rows.sites[s as usize].as_str());
    vec![
        lines(&rows.line),
        dates(&rows.date),
        StringChunked::from_iter_options("site".into(), rows.site.iter().map(site)).into_column(),
        numbers("mean_c", rows.mean_c.iter().copied().map(Some)),
    ]
}

fn lines(lines: &[u32]) -> Column {
    UInt32Chunked::from_slice("line".into(), lines).into_column()
}

fn dates(dates: &[NaiveDate]) -> Column {
    let days = dates
        .iter()
        .map(|d| d.signed_duration_since(NaiveDate::default()).num_days() as i32);
    Int32Chunked::from_iter_values("date".into(), days)
        .into_date()
        .into_column()
}

fn texts<'a>(name: &str, texts: impl Iterator<Item = &'a str>) -> Column {
    StringChunked::from_iter_values(name.into(), texts).into_column()
}

fn numbers(name: &str, numbers: impl Iterator<Item = Option<f64>>) -> Column {
    Float64Chunked::from_iter_options(name.into(), numbers).into_column()
}

fn kind_of(count: &Count) -> &'static str {
    match count {
        Count::Exactly(_) => "exactly",
        Count::AtLeast(_) => "at-least",
        Count::About(_) => "about",
        Count::Present => "present",
        Count::Unknown => "unknown",
    }
}

pub(super) fn count_of(kind: &str, number: Option<u32>) -> Option<Count> {
    Some(match (kind, number) {
        ("exactly", Some(n)) => Count::Exactly(n),
        ("at-least", Some(n)) => Count::AtLeast(n),
        ("about", Some(n)) => Count::About(n),
        ("present", None) => Count::Present,
        _ => return None,
    })
}

/// Columns of a batch's file.
pub(super) struct Columns<'a> {
    batch: &'a BatchRow,
    frame: DataFrame,
}

pub(super) fn damaged(batch: &BatchRow, why: impl std::fmt::Display) -> StoreError {
    StoreError::Batch {
        file: batch.parquet.clone(),
        why: why.to_string(),
    }
}

impl<'a> Columns<'a> {
    /// A file of another length than was written is not handed to polars at all.
    pub(super) fn read(
        folder: &Path,
        batch: &'a BatchRow,
        columns: &[&str],
    ) -> Result<Self, StoreError> {
        let file = File::open(folder.join(&batch.parquet)).map_err(|e| damaged(batch, e))?;
        let bytes = file.metadata().map_err(|e| damaged(batch, e))?.len();
        if bytes != batch.bytes {
            return Err(damaged(
                batch,
                format!("{bytes} bytes where {} were written", batch.bytes),
            ));
        }
        let columns = columns.iter().map(|c| c.to_string()).collect();
        let reader = ParquetReader::new(file).with_columns(Some(columns));
        let frame = reader.finish().map_err(|e| damaged(batch, e))?;
        Ok(Columns { batch, frame })
    }

    pub(super) fn column<'c, T>(
        &'c self,
        name: &str,
        of: impl FnOnce(&'c Column) -> PolarsResult<T>,
    ) -> Result<T, StoreError> {
        let column = self.frame.column(name).and_then(of);
        column.map_err(|e| damaged(self.batch, e))
    }

    pub(super) fn dates(&self) -> Result<Vec<NaiveDate>, StoreError> {
        let days = self.column("date", |c| Ok(c.date()?.physical()))?;
        let date = |day: Option<i32>| {
            let epoch = NaiveDate::default();
            let day = day?;
            let span = Days::new(u64::from(day.unsigned_abs()));
            if day < 0 {
                epoch.checked_sub_days(span)
            } else {
                epoch.checked_add_days(span)
            }
        };
        let dates = days.iter().map(date).collect::<Option<_>>();
        dates.ok_or_else(|| damaged(self.batch, "a row without a date"))
    }

    pub(super) fn texts(&self, name: &str) -> Result<&StringChunked, StoreError> {
        self.column(name, Column::str)
    }

    pub(super) fn numbers(&self, name: &str) -> Result<&Float64Chunked, StoreError> {
        self.column(name, Column::f64)
    }
}

/// The dated rows of counts or visits by site; none of a temperature batch.
pub(super) fn days(folder: &Path, batch: &BatchRow) -> Result<DaysBySite, StoreError> {
    let mut days = DaysBySite::new();
    if batch.kind == Kind::Temperature {
        return Ok(days);
    }
    let columns = Columns::read(folder, batch, &["date", "site", "effort"])?;
    let rows = columns.texts("site")?.iter().zip(columns.dates()?);
    for ((site, date), effort) in rows.zip(columns.numbers("effort")?.iter()) {
        let site = site.ok_or_else(|| damaged(batch, "a row without a site"))?;
        if !days.contains_key(site) {
            days.insert(site.to_owned(), Default::default());
        }
        if let Some(of_site) = days.get_mut(site) {
            of_site.entry(date).or_default().add_row(effort);
        }
    }
    Ok(days)
}

/// Hands over each record of a site: its date, species and count.
pub(super) fn records(
    folder: &Path,
    batch: &BatchRow,
    site: &str,
    mut take: impl FnMut(NaiveDate, &str, Count) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let columns = Columns::read(
        folder,
        batch,
        &["date", "site", "species", "kind", "number"],
    )?;
    let numbers = columns.column("number", Column::u32)?;
    let counts = columns.texts("kind")?.iter().zip(numbers.iter());
    let rows = columns
        .texts("site")?
        .iter()
        .zip(columns.texts("species")?.iter());
    for (((of, species), (kind, number)), date) in rows.zip(counts).zip(columns.dates()?) {
        if of != Some(site) {
            continue;
        }
        let count = kind.and_then(|kind| count_of(kind, number)).zip(species);
        let (count, species) = count.ok_or_else(|| damaged(batch, "a row without a count"))?;
        take(date, species, count)?;
    }
    Ok(())
}

/// Daily means that hold for a site: its own, and those of all sites (flag false), deg C.
pub(super) fn temperatures(
    folder: &Path,
    batch: &BatchRow,
    site: &str,
) -> Result<Vec<(NaiveDate, f64, bool)>, StoreError> {
    let columns = Columns::read(folder, batch, &["date", "site", "mean_c"])?;
    let means = columns.numbers("mean_c")?.iter();
    let rows = columns
        .dates()?
        .into_iter()
        .zip(columns.texts("site")?.iter());
    let here = rows
        .zip(means)
        .filter(|((_, of), _)| of.is_none_or(|of| of == site));
    let known = here.map(|((date, of), mean)| mean.map(|mean| (date, mean, of.is_some())));
    let known = known.collect::<Option<_>>();
    known.ok_or_else(|| damaged(batch, "a row without a temperature"))
}
