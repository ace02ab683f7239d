//! A Darwin Core Archive: visits as its core of events, counts as occurrences, and what was
//! searched and reported by the Humboldt Extension for Ecological Inventories.
//!
//! Terms and the text format are those of the Darwin Core standard and its text guide (TDWG,
//! CC BY 4.0). individualCount has exact numbers alone; organismQuantity has what was noted, as 60+
//! or c. 120; a bird found without a number has neither.

mod eml;
mod meta;
mod rows;
mod terms;

use super::folder::Folder;
use super::outgoing::Outgoing;
use super::{ExportError, settings};
use std::io::{self, Seek, Write};
use terms::{EVENT, HUMBOLDT, OCCURRENCE, Table};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

pub(super) fn write(out: &Outgoing, folder: &Folder) -> Result<(), ExportError> {
    folder.file("darwin-core.zip", |file| archive(out, file))?;
    folder.text("wingtide.toml", &settings::archive(out)?)
}

fn archive(out: &Outgoing, file: impl Write + Seek) -> io::Result<()> {
    let mut zip = ZipWriter::new(file);
    let mut part = |name: &str, fill: &mut dyn FnMut(&mut dyn Write) -> io::Result<()>| {
        // The same counts give the same bytes: files carry no time.
        let options = SimpleFileOptions::default().last_modified_time(zip::DateTime::default());
        zip.start_file(name, options)?;
        fill(&mut zip)
    };
    part("meta.xml", &mut |to| to.write_all(&meta::xml()?))?;
    part("eml.xml", &mut |to| to.write_all(&eml::xml(out)?))?;
    part(EVENT.file, &mut |to| {
        table(&EVENT, to, |take| rows::events(out, take))
    })?;
    part(OCCURRENCE.file, &mut |to| {
        table(&OCCURRENCE, to, |take| rows::occurrences(out, take))
    })?;
    part(HUMBOLDT.file, &mut |to| {
        table(&HUMBOLDT, to, |take| rows::humboldt(out, take))
    })?;
    zip.finish()?;
    Ok(())
}

/// Takes a row's cells, one for each term of its table.
type TakeCells<'a> = &'a mut dyn FnMut(&[&str]) -> io::Result<()>;

fn table(
    table: &Table,
    to: &mut dyn Write,
    rows: impl FnOnce(TakeCells<'_>) -> io::Result<()>,
) -> io::Result<()> {
    let mut csv = csv::WriterBuilder::new().delimiter(b'\t').from_writer(to);
    csv.write_record(table.columns.iter().map(|term| terms::short(term)))?;
    rows(&mut |cells| {
        csv.write_record(cells)?;
        Ok(())
    })?;
    csv.flush()
}
