//! `wingtide load`

use super::args::Load;
use super::{Failure, Streams, batches, print_json};
use crate::load_report::{LoadPage, on_screen};
use crate::second_look::{self, Which};
use crate::whole_file;
use chrono::{DateTime, Utc};
use config::settings::Workspace;
use indicatif::{ProgressBar, ProgressStyle};
use ingest::fetch::{FetchReport, Outcome};
use ingest::full;
use ingest::store::FormerLoad;
use ingest::suspects::Suspect;
use ingest::{LoadReport, Progress, Store};
use std::io::Write;
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// Where the page goes inside the workspace, and a copy of the last one stays.
const FOLDER: &str = "report";
const PAGE: &str = "load.html";
/// Page on one batch: `batch-3.html`.
const BATCH: &str = "batch-";
const HTML: &str = ".html";

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
    leave_page(&workspace, &report, now)?;
    Ok(report)
}

/// Leaves the page on a load in the workspace.
pub fn leave_page(
    workspace: &Workspace,
    report: &LoadReport,
    now: DateTime<Utc>,
) -> Result<(), Failure> {
    let page = workspace.root.join(FOLDER).join(PAGE);
    asked(workspace, report, now, None, &page).map(drop)
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
        streams.remark(&format!("{warning}{report}"))?;
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
    let unexpected = second_look::list(workspace, &store, None, Which::Usual)?;
    let visits = store.visit_dates()?;
    let html = LoadPage {
        workspace,
        report,
        suspects: Some(&suspects),
        unexpected: unexpected.as_ref(),
        visits: &visits,
        batch: None,
    };
    write_page(workspace, &html, begun, page)?;
    Ok(suspects)
}

fn write_page(
    workspace: &Workspace,
    content: &LoadPage<'_>,
    begun: Option<NamedTempFile>,
    page: &Path,
) -> Result<(), Failure> {
    let html = content.html()?;
    let mut file = match begun {
        Some(file) => file,
        None => {
            if page.starts_with(&workspace.root) {
                let folder = workspace.root.join(FOLDER);
                std::fs::create_dir_all(&folder)
                    .map_err(|e| only_the_page(cannot_write(&folder, &e)))?;
            }
            begin(page).map_err(only_the_page)?
        }
    };
    let written = file.write_all(html.as_bytes());
    let written = written.and_then(|()| whole_file::finish(file, page));
    written.map_err(|e| only_the_page(cannot_write(page, &e)))
}

/// Where the page on a batch goes inside the workspace.
pub(super) fn batch_place(workspace: &Workspace, batch: i64) -> PathBuf {
    let name = format!("{BATCH}{batch}{HTML}");
    workspace.root.join(FOLDER).join(name)
}

/// Writes the page on one load of one source, told of in `words`.
pub(super) fn write_batch(
    workspace: &Workspace,
    load: &FormerLoad,
    words: &str,
    page: &Path,
) -> Result<(), Failure> {
    let content = LoadPage {
        workspace,
        report: &load.report,
        suspects: None,
        unexpected: None,
        visits: &load.dates,
        batch: Some(words),
    };
    write_page(workspace, &content, None, page)
}

/// Writes the pages in the workspace anew from what the store knows now.
pub(super) fn rewrite_pages(
    workspace: &Workspace,
    store: &Store,
    now: DateTime<Utc>,
) -> Result<(), Failure> {
    let own = workspace.root.join(FOLDER).join(PAGE);
    if let Some(report) = store.last_report()?.filter(|_| own.exists()) {
        asked(workspace, &report, now, None, &own)?;
    }
    for batch in store.listed_batches()? {
        let page = batch_place(workspace, batch.batch);
        if let Some(load) = store.former_load(batch.batch)?.filter(|_| page.exists()) {
            write_batch(workspace, &load, &batches::words(&batch), &page)?;
        }
    }
    Ok(())
}

/// A path as messages show it.
pub(super) fn shown(workspace: &Workspace, path: &Path) -> String {
    let inside = path.strip_prefix(&workspace.root).unwrap_or(path);
    inside.display().to_string()
}

fn begin(page: &Path) -> Result<NamedTempFile, Failure> {
    whole_file::begin(page).map_err(|e| cannot_write(page, &e))
}

fn cannot_write(path: &Path, why: &std::io::Error) -> Failure {
    let path = path.display();
    match full::is_full(why) {
        true => Failure::new(format!("the disk is full: cannot write the report {path}")),
        false => Failure::new(format!("cannot write the report {path}: {why}")),
    }
}

/// The store has changed by now.
fn only_the_page(failure: Failure) -> Failure {
    failure.hint("the counts are loaded; mend that, and `wingtide load` writes the report again")
}
