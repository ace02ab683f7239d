//! `wingtide undo`

use super::args::Undo;
use super::{Failure, Streams};
use chrono::Utc;
use std::path::Path;

/// Undoes a load of one source.
pub fn run(dir: &Path, args: &Undo, streams: &mut Streams) -> Result<(), Failure> {
    let workspace = config::load(dir)?;
    let undone = ingest::undo(&workspace, &workspace.root, args.batch, Utc::now())?;
    let source = &undone.batch.source;
    let now = match undone.back_to {
        Some(id) => format!("the rows of batch {id} are in use again"),
        None => format!("source {source} has no rows now"),
    };
    writeln!(
        streams.out,
        "Batch {} of source {source} is undone; {now}.",
        args.batch
    )?;
    write!(streams.out, "{}", undone.report)?;
    writeln!(streams.err, "The counts changed; run: wingtide fit")?;
    Ok(())
}
