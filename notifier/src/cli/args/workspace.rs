//! What begins, packs and unpacks a whole workspace.

use std::path::PathBuf;

/// `new`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide new mine --from counts.csv")]
pub struct New {
    /// Folder to make
    pub dir: PathBuf,
    /// Propose the settings from this file's own header and rows; a commented example where left out
    #[arg(long, value_name = "FILE")]
    pub from: Option<PathBuf>,
}

/// `demo`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide demo skerrow-ness")]
pub struct Demo {
    /// Folder to make
    #[arg(default_value = "skerrow-ness")]
    pub dir: PathBuf,
    /// Whole number from which the invented counts are drawn: the same one, the same counts
    #[arg(long, default_value_t = crate::demo::SEED)]
    pub seed: u64,
}

/// `backup`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness backup skerrow-2026-09-07.zip")]
pub struct Backup {
    /// The archive to write, such as skerrow-2026-09-07.zip
    pub file: PathBuf,
}

/// `restore`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide restore skerrow-2026-09-07.zip --into skerrow-again")]
pub struct Restore {
    /// The archive
    pub file: PathBuf,
    /// A new or empty folder for the workspace; the one that --dir names where left out
    #[arg(long, value_name = "DIR")]
    pub into: Option<PathBuf>,
}
