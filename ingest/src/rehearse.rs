//! Reading as a load does, of which nothing is kept.

use crate::error::LoadError;
use crate::load::latest;
use crate::mapping;
use crate::read::gather::Gathered;
use crate::report::SourceReport;
use crate::source;
use chrono::{DateTime, Utc};
use config::settings::{Source, Workspace};

/// Reads bytes as those of a source's one file, and tells what became of each row. No file of the
/// workspace is opened, and no store.
///
/// `now` is when they are read: rows dated more than a day after it are refused.
///
/// # Errors
///
/// What would stop a load of that file.
pub fn rehearse(
    workspace: &Workspace,
    source: &Source,
    bytes: Vec<u8>,
    now: DateTime<Utc>,
) -> Result<SourceReport, LoadError> {
    let file = mapping::file_name(workspace, source);
    let gathered = Gathered::one(&file, bytes);
    let (_, report) = source::read(workspace, source, latest(now), gathered, &mut |_| {})?;
    Ok(report)
}
