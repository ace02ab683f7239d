//! `wingtide export`

use super::args::{Export, ExportFormat};
use super::session::Session;
use super::{Failure, Streams};
use crate::words::count_of;
use ingest::export::{Exported, Format, LeftOut, export};
use std::path::Path;

/// Passes on what was loaded, less what is sensitive.
pub fn run(dir: &Path, args: &Export, streams: &mut Streams) -> Result<(), Failure> {
    let session = Session::open(dir)?;
    let format = match args.format {
        ExportFormat::Csv => Format::Csv,
        ExportFormat::Parquet => Format::Parquet,
        ExportFormat::DarwinCore => Format::DarwinCore,
    };
    let exported = export(&session.store, &session.workspace, format, &args.out)?;
    for file in &exported.files {
        writeln!(streams.out, "{}", file.display())?;
    }
    writeln!(streams.err, "{}", told(&exported))?;
    for line in kept_back(&exported.left_out) {
        writeln!(streams.err, "{line}")?;
    }
    Ok(())
}

fn told(exported: &Exported) -> String {
    format!(
        "{} on {} to {}.",
        count_of(exported.counts, "count", "counts"),
        count_of(exported.visits, "visit", "visits"),
        count_of(exported.sites, "site", "sites"),
    )
}

/// What was kept back; it stands nowhere in the files.
fn kept_back(left_out: &LeftOut) -> Vec<String> {
    let lines = [
        (left_out.sites, "site withheld", "sites withheld"),
        (left_out.species, "species withheld", "species withheld"),
        (
            left_out.coarse_sites,
            "site told to a grid cell",
            "sites told to a grid cell",
        ),
        (
            left_out.coarse_species,
            "species told by grid cell and month",
            "species told by grid cell and month",
        ),
        (
            left_out.finds_withheld,
            "find of it withheld, as its cell and month would tell the site",
            "finds of them withheld, as their cell and month would tell the site",
        ),
    ];
    let some = lines.into_iter().filter(|(number, ..)| *number > 0);
    some.map(|(number, one, many)| format!("Kept back: {}.", count_of(number, one, many)))
        .collect()
}
