//! `wingtide load`

use super::args::Load;
use super::{Failure, Streams, print_json};
use crate::load_report::{LoadPage, on_screen};
use crate::whole_file;
use chrono::{DateTime, Utc};
use config::settings::Workspace;
use indicatif::{ProgressBar, ProgressStyle};
use ingest::fetch::{FetchReport, Outcome};
use ingest::suspects::Suspect;
use ingest::{LoadReport, Progress, Store};
use std::io::Write;
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// Where the page goes inside the workspace, and a copy of the last one stays.
const FOLDER: &str = "report";
const PAGE: &str = "load.html";

/// Loads every source of the workspace, and writes the report on it as a page.
pub fn run(dir: &Path, args: &Load, streams: &mut Streams) -> Result<(), Failure> {
    let now = Utc::now();
    let workspace = config::load(dir)?;
    let page = page_place(&workspace, args);
    // a page that cannot be written stops the command before the store changes
    let begun = args.report.is_some().then(|| begin(&page)).transpose()?;
    let fetched = match args.offline {
        true => Vec::new(),
        false => fetch(&workspace, now, streams)?,
    };
    let report = load_workspace(&workspace, now, args.again, streams)?;
    let suspects = asked(&workspace, &report, now, begun, &page)?;
    if args.json {
        let mut value = serde_json::to_value(&report)?;
        value["suspects"] = serde_json::to_value(&suspects)?;
        value["fetched"] = serde_json::to_value(&fetched)?;
        return print_json(&value, streams.out);
    }
    write!(streams.out, "{report}")?;
    let asked = on_screen(&suspects);
    if !asked.is_empty() {
        writeln!(
            streams.out,
            "\nWorth a second look (the rows stay as they are):"
        )?;
    }
    for line in asked {
        writeln!(streams.out, "  {line}")?;
    }
    writeln!(streams.out, "\nThe whole report: {}", page.display())?;
    Ok(())
}

/// Loads with progress where people are looking, and leaves the page in the workspace.
pub fn load(dir: &Path, streams: &Streams) -> Result<LoadReport, Failure> {
    let now = Utc::now();
    let workspace = config::load(dir)?;
    let report = load_workspace(&workspace, now, false, streams)?;
    let page = workspace.root.join(FOLDER).join(PAGE);
    asked(&workspace, &report, now, None, &page)?;
    Ok(report)
}

fn page_place(workspace: &Workspace, args: &Load) -> PathBuf {
    let own = || workspace.root.join(FOLDER).join(PAGE);
    args.report.clone().unwrap_or_else(own)
}

/// Fetches the sources with an address; tells what came of each.
fn fetch(
    workspace: &Workspace,
    now: DateTime<Utc>,
    streams: &mut Streams,
) -> Result<Vec<FetchReport>, Failure> {
    let bar = spinner(streams, "{spinner} fetching {msg}")?;
    let fetched = ingest::fetch(workspace, now, &mut |p| {
        bar.set_message(p.to_string());
        bar.tick();
    })?;
    bar.finish_and_clear();
    for report in &fetched {
        let warning = match report.outcome {
            Outcome::Failed { .. } => "warning: ",
            _ => "",
        };
        writeln!(streams.err, "{warning}{report}")?;
    }
    Ok(fetched)
}

fn spinner(streams: &Streams, template: &str) -> Result<ProgressBar, Failure> {
    let bar = if streams.progress {
        ProgressBar::new_spinner()
    } else {
        ProgressBar::hidden()
    };
    bar.set_style(ProgressStyle::with_template(template)?);
    Ok(bar)
}

fn load_workspace(
    workspace: &Workspace,
    now: DateTime<Utc>,
    again: bool,
    streams: &Streams,
) -> Result<LoadReport, Failure> {
    let bar = spinner(streams, "{spinner} loading {msg}")?;
    let load = match again {
        true => ingest::load_again,
        false => ingest::load,
    };
    let report = load(workspace, &workspace.root, now, &mut |p: Progress| {
        bar.set_message(p.to_string());
        bar.tick();
    })?;
    bar.finish_and_clear();
    Ok(report)
}

/// Looks for what is worth a second look, and writes the page: into `begun`, else into the
/// workspace.
fn asked(
    workspace: &Workspace,
    report: &LoadReport,
    now: DateTime<Utc>,
    begun: Option<NamedTempFile>,
    page: &Path,
) -> Result<Vec<Suspect>, Failure> {
    let store = Store::open_existing(&workspace.root)?;
    let suspects = store.suspects(workspace, report, now)?;
    let html = LoadPage {
        workspace,
        report,
        suspects: &suspects,
        visits: &store.visit_dates()?,
    }
    .html()?;
    let mut file = match begun {
        Some(file) => file,
        None => {
            let folder = workspace.root.join(FOLDER);
            std::fs::create_dir_all(&folder).map_err(|e| cannot_write(&folder, &e))?;
            begin(page)?
        }
    };
    let written = file.write_all(html.as_bytes());
    let written = written.and_then(|()| whole_file::finish(file, page));
    written.map_err(|e| cannot_write(page, &e))?;
    Ok(suspects)
}

fn begin(page: &Path) -> Result<NamedTempFile, Failure> {
    whole_file::begin(page).map_err(|e| cannot_write(page, &e))
}

fn cannot_write(path: &Path, why: &std::io::Error) -> Failure {
    Failure::new(format!("cannot write the report {}: {why}", path.display()))
}
