//! One source's file, read into columns with a report on every row.

mod columns;
pub(crate) mod coordinates;
mod count_column;
mod counts;
mod days;
mod degrees;
mod degrees_filled;
mod effort_column;
pub(crate) mod looks;
mod meaning;
mod names;
pub(crate) mod observers;
mod order;
mod site_column;
mod sums;
mod temperature;
mod visits;
mod walk;

pub(crate) use days::{DaysBySite, RowOfDay, gather};

use crate::error::LoadError;
use crate::load::Progress;
use crate::mapping::{self, Finder, SiteBook};
use crate::read::gather::Gathered;
use crate::read::header::{Whose, separator_name};
use crate::read::opened::{self, Content, Opened, Part};
use crate::read::table::Table;
use crate::report::{Note, SourceReport};
use crate::visit::OfVisit;
use chrono::NaiveDate;
use config::settings::{DateOrder, Source, SourceKind, Wide, Workspace};
use forecast::series::Count;
use looks::Looks;
use observers::KeptObserver;

/// Accepted rows of a counts file, in columns.
#[derive(Debug, Default)]
pub(crate) struct CountRows {
    pub(crate) line: Vec<u32>,
    pub(crate) date: Vec<NaiveDate>,
    /// Places in `sites`.
    pub(crate) site: Vec<u32>,
    /// Places in `names`.
    pub(crate) name: Vec<u32>,
    pub(crate) count: Vec<Count>,
    pub(crate) visit: Vec<OfVisit>,
    /// Places in `all_looks`.
    pub(crate) looks: Vec<u32>,
    /// What refused rows leave unknown.
    pub(crate) unread: Vec<Unread>,
    pub(crate) sites: Vec<String>,
    pub(crate) names: Vec<Name>,
    pub(crate) all_looks: Vec<Looks>,
    pub(crate) observers: Vec<KeptObserver>,
}

/// A species, or those between which a bird is undecided, and how the file writes it; neither where
/// it says that nothing was found.
#[derive(Debug, Default)]
pub(crate) struct Name {
    /// None where undecided, or where there was no bird.
    pub(crate) species: Option<String>,
    /// Empty where decided.
    pub(crate) between: Vec<String>,
    /// What the file writes, where it is not the species' name.
    pub(crate) written: Option<String>,
}

/// Something that a row leaves unknown of its visit: whether a species was found or, where None,
/// which were.
#[derive(Debug)]
pub(crate) struct Unread {
    pub(crate) line: u32,
    pub(crate) date: NaiveDate,
    pub(crate) site: u32,
    pub(crate) species: Option<String>,
    pub(crate) visit: OfVisit,
}

/// Accepted rows of a visits file, in columns.
#[derive(Debug, Default)]
pub(crate) struct VisitRows {
    pub(crate) line: Vec<u32>,
    pub(crate) date: Vec<NaiveDate>,
    pub(crate) site: Vec<u32>,
    pub(crate) visit: Vec<OfVisit>,
    pub(crate) sites: Vec<String>,
    pub(crate) observers: Vec<KeptObserver>,
}

/// Accepted rows of a temperature file, in columns.
#[derive(Debug, Default)]
pub(crate) struct TemperatureRows {
    pub(crate) line: Vec<u32>,
    pub(crate) date: Vec<NaiveDate>,
    /// None where the series serves all sites.
    pub(crate) site: Vec<Option<u32>>,
    pub(crate) mean_c: Vec<f64>,
    /// Minimum and maximum, deg C.
    pub(crate) extremes_c: Vec<Option<(f64, f64)>>,
    /// The day lay in a short gap and was filled.
    pub(crate) filled: Vec<bool>,
    pub(crate) sites: Vec<String>,
}

/// Accepted rows of a file.
#[derive(Debug)]
pub(crate) enum Batch {
    Counts(CountRows),
    Visits(VisitRows),
    Temperature(TemperatureRows),
}

/// What every reader of rows needs to know.
pub(crate) struct Reading<'a> {
    pub(crate) workspace: &'a Workspace,
    pub(crate) source: &'a Source,
    /// The last day that can have been counted.
    pub(crate) latest: NaiveDate,
    /// The order in which dates are written.
    pub(crate) date_order: DateOrder,
    /// Dates may be values of their own, in ISO 8601.
    pub(crate) true_dates: bool,
}

/// Reads a source's bytes; nothing but them and the settings decides the outcome.
pub(crate) fn read(
    workspace: &Workspace,
    source: &Source,
    latest: NaiveDate,
    gathered: Gathered,
    progress: &mut dyn FnMut(Progress<'_>),
) -> Result<(Batch, SourceReport), LoadError> {
    let file = mapping::file_name(workspace, source);
    let Opened { parts, notes } = opened::open(gathered, &file, workspace, source)?;
    let built = source.layout.wide.as_ref().is_some_and(Wide::builds_dates);
    let true_dates = built || parts.iter().any(Part::has_true_dates);
    let (date_order, shown) = order::settled(&parts, source, true_dates)?;
    let table = Table::new(&parts, source)?;
    let mut report = SourceReport::new(&source.id, mapping::kind(source), &file);
    report.encoding = kept_as(&parts);
    report.separator = table.separator.map_or_else(String::new, separator_name);
    report.notes = notes;
    report.notes.extend(encoding_notes(&parts));
    report.notes.extend(shown);
    let reading = Reading {
        workspace,
        source,
        latest,
        date_order,
        true_dates,
    };
    let whose = Whose {
        file: &parts[0].name,
        source_id: &source.id,
    };
    let batch = rows(&reading, table, whose, &mut report, progress)?;
    report.place_lines();
    nothing_accepted(&report)?;
    Ok((batch, report))
}

fn rows(
    reading: &Reading<'_>,
    table: Table<'_>,
    whose: Whose<'_>,
    report: &mut SourceReport,
    progress: &mut dyn FnMut(Progress<'_>),
) -> Result<Batch, LoadError> {
    let sites = SiteBook::new(reading.workspace, reading.source)?;
    let header = table.header.clone();
    let mut finder = Finder::new(&header, whose);
    let walk = walk::Walk {
        table,
        whose,
        report,
        progress,
    };
    match &reading.source.kind {
        SourceKind::Counts(columns) => {
            let reader = counts::Reader::new(reading, columns, &mut finder, sites)?;
            counts::read(reader, walk, finder).map(Batch::Counts)
        }
        SourceKind::Visits(columns) => {
            let reader = visits::Reader::new(reading, columns, &mut finder, sites)?;
            visits::read(reader, walk, finder).map(Batch::Visits)
        }
        SourceKind::Temperature(columns) => {
            let reader = temperature::Reader::new(reading, columns, &mut finder, sites)?;
            temperature::read(reader, walk, finder).map(Batch::Temperature)
        }
    }
}

/// Encodings, or kinds of file, of all parts.
fn kept_as(parts: &[Part]) -> String {
    let mut kinds: Vec<&str> = parts.iter().map(Part::kept_as).collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds.join(" and ")
}

fn encoding_notes(parts: &[Part]) -> impl Iterator<Item = Note> {
    let several = parts.len() > 1;
    parts.iter().filter_map(move |part| {
        let Content::Text(text) = &part.content else {
            return None;
        };
        text.not_utf8_line.map(|line| Note {
            file: several.then(|| part.name.clone()),
            line: Some(line),
            text: format!("The file is not UTF-8 and was read as {}.", text.encoding),
        })
    })
}

/// A file of which nothing can be used must not replace what the store has.
fn nothing_accepted(report: &SourceReport) -> Result<(), LoadError> {
    if report.accepted > 0 {
        return Ok(());
    }
    let file = report.file.clone();
    Err(match report.refused.first() {
        None => LoadError::Empty {
            file,
            what: "rows below its header",
        },
        Some(first) => LoadError::NothingAccepted {
            file,
            rows: report.rows,
            first: Box::new(first.clone()),
        },
    })
}
