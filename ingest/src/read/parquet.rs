//! The rows of a Parquet file as text; called in the confined reader alone.

use super::confined::{Sink, Tables, number};
use chrono::NaiveDate;
use polars::prelude::*;
use std::fs::File;
use std::path::Path;

/// Why the file is refused, as a phrase.
type Refused = Box<dyn std::error::Error>;

/// Rows read at once.
const SLICE: usize = 100_000;

/// Writes the rows into the folder, the column names first as row 0.
pub(super) fn tables(input: &Path, folder: &Path) -> Result<Tables, Refused> {
    let frame = ParquetReader::new(File::open(input)?).finish()?;
    let mut sink = Sink::new(folder, 0)?;
    let names: Vec<&str> = frame.columns().iter().map(|c| c.name().as_str()).collect();
    sink.row(&names, 0)?;
    for from in (0..frame.height()).step_by(SLICE) {
        let slice = frame.slice(from as i64, SLICE);
        let columns = slice.columns().iter().map(texts);
        let columns = columns.collect::<Result<Vec<_>, _>>()?;
        if columns.iter().any(|c| c.len() != slice.height()) {
            return Err("its columns are not of one length".into());
        }
        for row in 0..slice.height() {
            let cells: Vec<&str> = columns.iter().map(|c| c[row].as_str()).collect();
            sink.row(&cells, (from + row) as u64 + 1)?;
        }
    }
    let mut tables = Tables::default();
    tables.keep(sink, String::new())?;
    Ok(tables)
}

/// A column as text; what is missing is empty.
fn texts(column: &Column) -> Result<Vec<String>, Refused> {
    let some = |text: Option<String>| text.unwrap_or_default();
    Ok(match column.dtype() {
        DataType::Date => {
            let days = column.date()?.physical();
            days.iter().map(|d| some(d.map(date))).collect()
        }
        DataType::Datetime(_, zone) => {
            let utc = zone.as_ref().map_or("", |_| "Z");
            let wall = column.cast(&DataType::Datetime(TimeUnit::Milliseconds, None))?;
            let at = wall.datetime()?.physical().iter();
            at.map(|ms| some(ms.map(|ms| moment(ms, utc)))).collect()
        }
        DataType::Float32 | DataType::Float64 => {
            let numbers = column.cast(&DataType::Float64)?;
            numbers.f64()?.iter().map(|n| some(n.map(number))).collect()
        }
        DataType::String | DataType::Boolean => as_written(column)?,
        other if other.is_integer() => as_written(column)?,
        DataType::Categorical(..) | DataType::Enum(..) => as_written(column)?,
        other => {
            let name = column.name();
            return Err(format!(
                "its column \"{name}\" is of the type {other}; expected text, numbers or dates"
            )
            .into());
        }
    })
}

fn as_written(column: &Column) -> Result<Vec<String>, Refused> {
    let texts = column.cast(&DataType::String)?;
    let texts = texts.str()?.iter();
    Ok(texts.map(|t| t.unwrap_or_default().to_owned()).collect())
}

/// Days since 1970 as a date.
fn date(days: i32) -> String {
    let date = NaiveDate::from_epoch_days(days);
    date.map_or_else(|| format!("day {days}"), |d| d.to_string())
}

/// Milliseconds since 1970 as date and time; a midnight is a date.
fn moment(ms: i64, zone: &str) -> String {
    match chrono::DateTime::from_timestamp_millis(ms) {
        None => format!("{ms} ms"),
        Some(at) if zone.is_empty() && ms.rem_euclid(86_400_000) == 0 => {
            at.format("%Y-%m-%d").to_string()
        }
        Some(at) => format!("{}{zone}", at.format("%Y-%m-%d %H:%M:%S")),
    }
}
