//! What brings rows in, takes them out again, and passes them on.

use std::path::PathBuf;

/// `load`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness load")]
pub struct Load {
    /// Also files that look as they did, and files whose batches were undone
    #[arg(long)]
    pub again: bool,
    /// Write the report as a page to this file, not to report/load.html in the workspace
    #[arg(long, value_name = "FILE")]
    pub report: Option<PathBuf>,
    /// Fetch nothing: use the copies of the sources with a url
    #[arg(long)]
    pub offline: bool,
    /// The whole report as JSON
    #[arg(long)]
    pub json: bool,
}

/// `batches`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness batches 3")]
pub struct Batches {
    /// Show this one, and write the page on it
    pub batch: Option<i64>,
    /// Write that page to this file, not to report/batch-N.html in the workspace
    #[arg(long, value_name = "FILE", requires = "batch")]
    pub report: Option<PathBuf>,
    /// As JSON
    #[arg(long)]
    pub json: bool,
}

/// `undo`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness undo 3")]
pub struct Undo {
    /// Number of the batch, as `batches` lists it
    pub batch: i64,
}

/// `erase-observer`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness erase-observer \"Ann Warden\"")]
pub struct EraseObserver {
    /// The name as it is kept; first letters where no more is kept
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    pub name: Option<String>,
    /// The names of all observers
    #[arg(long)]
    pub all: bool,
}

/// `export`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness export --format csv --out passed-on"
)]
pub struct Export {
    /// What to write
    #[arg(long, value_enum)]
    pub format: ExportFormat,
    /// A new folder for it, or one that an earlier export made
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
}

/// What counts are passed on as.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum ExportFormat {
    /// Counts, visits and temperature as CSV, with a wingtide.toml that loads them
    Csv,
    /// The same as Parquet
    Parquet,
    /// A Darwin Core Archive with the Humboldt Extension
    DarwinCore,
}
