//! The tables of [`super::tables`] as Parquet, written by polars.

use super::folder::Folder;
use super::outgoing::Outgoing;
use super::tables::{temperature_of, visits_of};
use super::{ExportError, settings, words};
use chrono::NaiveDate;
use polars::prelude::*;
use std::io;

pub(super) fn write(out: &Outgoing, folder: &Folder) -> Result<(), ExportError> {
    let file = |name: &str, columns: Vec<Column>| {
        folder.file(name, |file| {
            let frame = DataFrame::new_infer_height(columns);
            let written = frame.and_then(|mut frame| ParquetWriter::new(file).finish(&mut frame));
            written.map(drop).map_err(io::Error::other)
        })
    };
    file("counts.parquet", counts(out))?;
    if visits_of(out).next().is_some() {
        file("visits.parquet", visits(out))?;
    }
    let temperature = temperature(out);
    if temperature.iter().any(|c| !c.is_empty()) {
        file("temperature.parquet", temperature)?;
    }
    if !out.coarse.is_empty() {
        file("coarse.parquet", coarse(out))?;
    }
    folder.text("wingtide.toml", &settings::text(out, "parquet")?)
}

fn counts(out: &Outgoing) -> Vec<Column> {
    let rows = || {
        let all = out
            .sites
            .iter()
            .flat_map(|site| site.rows().map(move |row| (site, row)));
        all.filter(|(_, row)| words::written(row.count).is_some())
    };
    vec![
        texts("site", rows().map(|(site, _)| Some(site.site.id.as_str()))),
        dates(rows().map(|(_, row)| row.date)),
        texts("scientificName", rows().map(|(_, row)| Some(row.species))),
        texts(
            "vernacularName",
            rows().map(|(_, row)| out.vernacular(row.species)),
        ),
        UInt32Chunked::from_iter_options(
            "individualCount".into(),
            rows().map(|(_, row)| words::exact(row.count)),
        )
        .into_column(),
        texts("count", rows().map(|(_, row)| words::written(row.count))),
        texts(
            "occurrenceStatus",
            rows().map(|(_, row)| Some(words::status(row.count))),
        ),
        numbers("effort", rows().map(|(_, row)| row.effort)),
    ]
}

fn visits(out: &Outgoing) -> Vec<Column> {
    vec![
        texts("site", visits_of(out).map(|(site, ..)| Some(site))),
        dates(visits_of(out).map(|(_, date, _)| date)),
        numbers("effort", visits_of(out).map(|(.., effort)| effort)),
    ]
}

fn temperature(out: &Outgoing) -> Vec<Column> {
    let rows = temperature_of(out);
    let mut columns = vec![
        dates(rows.iter().map(|(_, date, _)| *date)),
        numbers("mean_c", rows.iter().map(|(.., mean)| Some(*mean))),
    ];
    if rows.iter().any(|(site, ..)| site.is_some()) {
        columns.push(texts("site", rows.iter().map(|(site, ..)| *site)));
    }
    columns
}

fn coarse(out: &Outgoing) -> Vec<Column> {
    let finds = || out.coarse.iter();
    vec![
        numbers("decimalLatitude", finds().map(|f| Some(f.area.latitude))),
        numbers("decimalLongitude", finds().map(|f| Some(f.area.longitude))),
        UInt32Chunked::from_iter_values(
            "coordinateUncertaintyInMeters".into(),
            finds().map(|f| f.area.uncertainty_m()),
        )
        .into_column(),
        texts("month", finds().map(|f| Some(f.month_text()))),
        texts("scientificName", finds().map(|f| Some(&f.species))),
        texts("most", finds().map(|f| words::written(f.most))),
    ]
}

fn texts<T: AsRef<str>>(name: &str, texts: impl Iterator<Item = Option<T>>) -> Column {
    StringChunked::from_iter_options(name.into(), texts).into_column()
}

fn numbers(name: &str, numbers: impl Iterator<Item = Option<f64>>) -> Column {
    Float64Chunked::from_iter_options(name.into(), numbers).into_column()
}

fn dates(dates: impl Iterator<Item = NaiveDate>) -> Column {
    let days = dates.map(|d| d.signed_duration_since(NaiveDate::default()).num_days() as i32);
    Int32Chunked::from_iter_values("date".into(), days)
        .into_date()
        .into_column()
}
