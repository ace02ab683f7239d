//! The columns of a batch's Parquet file, read by polars.

use super::erasing::OBSERVER;
use super::error::StoreError;
use super::few_words::Texts;
use super::ledger::BatchRow;
use super::summed::Where;
use chrono::{Days, NaiveDate};
use polars::prelude::*;
use std::fs::File;
use std::path::Path;

/// All that the file of a batch holds.
pub(super) fn whole(folder: &Path, batch: &BatchRow) -> PolarsResult<DataFrame> {
    ParquetReader::new(File::open(folder.join(&batch.parquet))?).finish()
}

/// Columns that files of an older version lack: they say nothing there.
const SINCE_ADDED: [(&str, DataType); 11] = [
    (OBSERVER, DataType::String),
    ("between", DataType::String),
    ("age", DataType::String),
    ("sex", DataType::String),
    ("plumage", DataType::String),
    ("purpose", DataType::String),
    ("fully_reported", DataType::Boolean),
    ("party", DataType::UInt32),
    ("min_c", DataType::Float64),
    ("max_c", DataType::Float64),
    ("filled", DataType::Boolean),
];

fn frame_of(file: File, columns: &[&str], part: Option<(usize, usize)>) -> PolarsResult<DataFrame> {
    let mut reader = ParquetReader::new(file).with_slice(part);
    let schema = reader.schema()?;
    let is_added = |c: &str| SINCE_ADDED.iter().find(|(name, _)| *name == c);
    let (there, lacking): (Vec<&str>, Vec<&str>) = columns
        .iter()
        .partition(|c| schema.contains(c) || is_added(c).is_none());
    let there = there.into_iter().map(str::to_owned).collect();
    let mut frame = reader.with_columns(Some(there)).finish()?;
    let rows = frame.height();
    for (name, kind) in lacking.into_iter().filter_map(is_added) {
        frame.with_column(Column::full_null((*name).into(), rows, kind))?;
    }
    Ok(frame)
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
        Columns::part(folder, batch, columns, None)
    }

    /// Of the rows that may be a site's; None where it has none.
    pub(super) fn at(
        folder: &Path,
        batch: &'a BatchRow,
        columns: &[&str],
        place: Where,
    ) -> Result<Option<Self>, StoreError> {
        let part = match place {
            Where::Nowhere => return Ok(None),
            Where::Anywhere => None,
            Where::Part(first, rows) => Some((first, rows)),
        };
        Columns::part(folder, batch, columns, part).map(Some)
    }

    /// Of so many rows from a place on, or of all.
    fn part(
        folder: &Path,
        batch: &'a BatchRow,
        columns: &[&str],
        part: Option<(usize, usize)>,
    ) -> Result<Self, StoreError> {
        let file = File::open(folder.join(&batch.parquet)).map_err(|e| damaged(batch, e))?;
        let bytes = file.metadata().map_err(|e| damaged(batch, e))?.len();
        if bytes != batch.bytes {
            return Err(damaged(
                batch,
                format!("{bytes} bytes where {} were written", batch.bytes),
            ));
        }
        let frame = frame_of(file, columns, part).map_err(|e| damaged(batch, e))?;
        Ok(Columns { batch, frame })
    }

    pub(super) fn rows(&self) -> usize {
        self.frame.height()
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

    pub(super) fn texts(&self, name: &str) -> Result<Texts<'_>, StoreError> {
        self.column(name, Texts::of)
    }

    pub(super) fn numbers(&self, name: &str) -> Result<&Float64Chunked, StoreError> {
        self.column(name, Column::f64)
    }
}
