//! Tables as CSV, and the settings that load them again.

use super::folder::Folder;
use super::outgoing::Outgoing;
use super::{ExportError, settings, words};
use chrono::NaiveDate;
use csv::Writer;
use std::io::{self, Write};

pub(super) fn write(out: &Outgoing, folder: &Folder) -> Result<(), ExportError> {
    folder.file("counts.csv", |file| counts(out, file))?;
    if visits_of(out).next().is_some() {
        folder.file("visits.csv", |file| visits(out, file))?;
    }
    if !temperature_of(out).is_empty() {
        folder.file("temperature.csv", |file| temperature(out, file))?;
    }
    if !out.coarse.is_empty() {
        folder.file("coarse.csv", |file| coarse(out, file))?;
    }
    folder.text("wingtide.toml", &settings::text(out, "csv")?)
}

fn counts(out: &Outgoing, file: &mut impl Write) -> io::Result<()> {
    let mut csv = Writer::from_writer(file);
    csv.write_record([
        "site",
        "date",
        "scientificName",
        "vernacularName",
        "individualCount",
        "count",
        "occurrenceStatus",
        "effort",
    ])?;
    for site in &out.sites {
        for row in site.rows() {
            let Some(count) = words::written(row.count) else {
                continue;
            };
            csv.write_record([
                &site.site.id,
                &row.date.to_string(),
                row.species,
                out.vernacular(row.species).unwrap_or_default(),
                &text(words::exact(row.count)),
                &count,
                words::status(row.count),
                &text(row.effort),
            ])?;
        }
    }
    csv.flush()
}

/// Nothing for None.
pub(super) fn text(value: Option<impl ToString>) -> String {
    value.map_or_else(String::new, |v| v.to_string())
}

/// The fully reported visits, which a visits table means.
pub(super) fn visits_of(out: &Outgoing) -> impl Iterator<Item = (&str, NaiveDate, Option<f64>)> {
    out.sites.iter().flat_map(|site| {
        let full = site.content.visits.iter().filter(|(_, v)| v.fully_reported);
        full.map(|(date, v)| (site.site.id.as_str(), *date, v.effort))
    })
}

fn visits(out: &Outgoing, file: &mut impl Write) -> io::Result<()> {
    let mut csv = Writer::from_writer(file);
    csv.write_record(["site", "date", "effort"])?;
    for (site, date, effort) in visits_of(out) {
        csv.write_record([site, &date.to_string(), &text(effort)])?;
    }
    csv.flush()
}

/// A series for all sites where all have the same one (None), else one for each site.
pub(super) fn temperature_of(out: &Outgoing) -> Vec<(Option<&str>, NaiveDate, f64)> {
    let Some((first, others)) = out.sites.split_first() else {
        return Vec::new();
    };
    let series = &first.content.temperature;
    if others.iter().all(|s| s.content.temperature == *series) {
        return series
            .iter()
            .map(|(date, mean)| (None, *date, *mean))
            .collect();
    }
    let sites = out.sites.iter();
    sites
        .flat_map(|s| {
            let days = s.content.temperature.iter();
            days.map(|(date, mean)| (Some(s.site.id.as_str()), *date, *mean))
        })
        .collect()
}

fn temperature(out: &Outgoing, file: &mut impl Write) -> io::Result<()> {
    let mut csv = Writer::from_writer(file);
    let rows = temperature_of(out);
    let by_site = rows.iter().any(|(site, ..)| site.is_some());
    let header = ["date", "mean_c", "site"];
    let columns = if by_site { 3 } else { 2 };
    csv.write_record(&header[..columns])?;
    for (site, date, mean) in rows {
        let cells = [date.to_string(), mean.to_string(), text(site)];
        csv.write_record(&cells[..columns])?;
    }
    csv.flush()
}

fn coarse(out: &Outgoing, file: &mut impl Write) -> io::Result<()> {
    let mut csv = Writer::from_writer(file);
    csv.write_record([
        "decimalLatitude",
        "decimalLongitude",
        "coordinateUncertaintyInMeters",
        "month",
        "scientificName",
        "most",
    ])?;
    for find in &out.coarse {
        csv.write_record([
            find.area.latitude.to_string(),
            find.area.longitude.to_string(),
            find.area.uncertainty_m().to_string(),
            find.month_text(),
            find.species.clone(),
            text(words::written(find.most)),
        ])?;
    }
    csv.flush()
}
