//! Passes counts on: as tables that load again, and as a Darwin Core Archive. What is sensitive
//! is withheld or coarsened before any format sees it.

mod darwin_core;
mod error;
mod folder;
mod grid;
mod outgoing;
mod parquet;
mod sensitive;
mod settings;
mod tables;
mod unit;
mod words;

pub use error::ExportError;
pub use sensitive::LeftOut;

use crate::store::Store;
use config::settings::Workspace;
use folder::Folder;
use outgoing::Outgoing;
use std::path::{Path, PathBuf};

/// What counts are passed on as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// `counts.csv`, `visits.csv`, `temperature.csv` and a `wingtide.toml` that loads them.
    Csv,
    /// The same tables as Parquet.
    Parquet,
    /// `darwin-core.zip`: events, occurrences and the Humboldt Extension.
    DarwinCore,
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exported {
    /// The files.
    pub files: Vec<PathBuf>,
    /// Sites in them.
    pub sites: usize,
    /// Visits in them.
    pub visits: usize,
    /// Counts in them, those of none found among them.
    pub counts: usize,
    /// What was kept back; for the keeper's eyes alone.
    pub left_out: LeftOut,
}

/// Writes all that the store has, less what is sensitive, into the folder `out`.
///
/// # Errors
///
/// [`ExportError`] where the store is damaged, the folder holds other things, or nothing is left.
pub fn export(
    store: &Store,
    workspace: &Workspace,
    format: Format,
    out: &Path,
) -> Result<Exported, ExportError> {
    let all = Outgoing::gather(store, workspace)?;
    let (outgoing, left_out) = sensitive::apply(all, workspace);
    if outgoing.sites.is_empty() {
        return Err(ExportError::NothingLeft);
    }
    let folder = Folder::begin(out)?;
    match format {
        Format::Csv => tables::write(&outgoing, &folder)?,
        Format::Parquet => parquet::write(&outgoing, &folder)?,
        Format::DarwinCore => darwin_core::write(&outgoing, &folder)?,
    }
    folder.text(folder::README, &words::readme(&outgoing, format))?;
    Ok(Exported {
        files: folder.finish()?,
        sites: outgoing.sites.len(),
        visits: outgoing.sites.iter().map(|s| s.content.visits.len()).sum(),
        counts: outgoing.sites.iter().map(|s| s.rows().count()).sum(),
        left_out,
    })
}
