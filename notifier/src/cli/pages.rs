//! `wingtide pages`

use super::args::Pages;
use super::{Failure, Streams};
use crate::web::{Snapshot, folder};
use crate::words::count_of;
use chrono::Utc;
use ingest::Store;
use std::path::Path;

/// Writes the pages and feeds that the service shows to everybody as a folder of files.
pub fn run(dir: &Path, args: &Pages, streams: &mut Streams) -> Result<(), Failure> {
    // what was never loaded is an error here, and an empty page in the service
    Store::open_existing(&config::load(dir)?.root)?;
    let snapshot = Snapshot::read(dir)?;
    let files = folder::write(&snapshot, &args.out, Utc::now())?;
    if let Some(first) = files.first() {
        writeln!(streams.out, "{}", first.display())?;
    }
    let written = count_of(files.len(), "file", "files");
    writeln!(
        streams.err,
        "{written} written; open the first one in a browser."
    )?;
    Ok(())
}
