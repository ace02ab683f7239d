//! `wingtide load`

use super::args::Load;
use super::{Failure, Streams, print_json};
use chrono::Utc;
use indicatif::{ProgressBar, ProgressStyle};
use ingest::{LoadReport, Progress};
use std::path::Path;

/// Loads every source of the workspace.
pub fn run(dir: &Path, args: &Load, streams: &mut Streams) -> Result<(), Failure> {
    let report = load(dir, streams)?;
    if args.json {
        return print_json(&serde_json::to_value(&report)?, streams.out);
    }
    write!(streams.out, "{report}")?;
    Ok(())
}

/// Loads with progress where people are looking.
pub fn load(dir: &Path, streams: &Streams) -> Result<LoadReport, Failure> {
    let workspace = config::load(dir)?;
    let bar = if streams.progress {
        ProgressBar::new_spinner()
    } else {
        ProgressBar::hidden()
    };
    bar.set_style(ProgressStyle::with_template("{spinner} loading {msg}")?);
    let report = ingest::load(
        &workspace,
        &workspace.root,
        Utc::now(),
        &mut |p: Progress| {
            bar.set_message(p.to_string());
            bar.tick();
        },
    )?;
    bar.finish_and_clear();
    Ok(report)
}
