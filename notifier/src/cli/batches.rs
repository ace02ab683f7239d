//! `wingtide batches`

use super::args::Batches;
use super::{Failure, Streams, load, print_json};
use crate::columns;
use chrono::DateTime;
use config::settings::Workspace;
use ingest::store::{DiskUse, ListedBatch, State};
use ingest::{Store, UndoError};
use std::path::Path;

/// Lists every load of a source, or shows one.
pub fn run(dir: &Path, args: &Batches, streams: &mut Streams) -> Result<(), Failure> {
    let workspace = config::load(dir)?;
    let store = Store::open_loaded(&workspace.root)?;
    if let Some(batch) = args.batch {
        return one(&workspace, &store, batch, args, streams);
    }
    let (batches, disk) = (store.listed_batches()?, store.disk_use()?);
    if args.json {
        let value = serde_json::json!({ "batches": batches, "disk": disk });
        return print_json(&value, streams.out);
    }
    table(&batches, streams)?;
    let keep = workspace.store.keep_batches;
    writeln!(streams.out)?;
    streams.tell(&disk_words(&disk))?;
    let most = workspace.store.max_mib.map_or_else(String::new, |mib| {
        format!(", all rows within {mib} MiB where those in use allow")
    });
    streams.tell(&format!(
        "Kept: the rows of {keep} former batches a source at most{most} ([store] in wingtide.toml)."
    ))
}

/// Shows what one load of a source did, and writes its page.
fn one(
    workspace: &Workspace,
    store: &Store,
    id: i64,
    args: &Batches,
    streams: &mut Streams,
) -> Result<(), Failure> {
    let listed = store.listed_batches()?.into_iter().find(|b| b.batch == id);
    let (Some(listed), Some(load)) = (listed, store.former_load(id)?) else {
        return Err(UndoError::Unknown(id).into());
    };
    let words = words(&listed);
    let own = || load::batch_place(workspace, id);
    let page = args.report.clone().unwrap_or_else(own);
    load::write_batch(workspace, &load, &words, &page)?;
    if args.json {
        let value = serde_json::json!({ "batch": listed, "report": load.report.sources[0] });
        return print_json(&value, streams.out);
    }
    writeln!(streams.out, "{words}")?;
    write!(streams.out, "{}", load.report)?;
    writeln!(streams.out, "\nThe whole report: {}", page.display())?;
    Ok(())
}

/// What became of a batch, as a sentence.
pub(super) fn words(batch: &ListedBatch) -> String {
    let (id, source) = (batch.batch, &batch.source);
    format!("Batch {id} of source {source}: {}.", state_words(batch))
}

/// The state and the file share the last column, which goes on below where it has no room.
fn table(batches: &[ListedBatch], streams: &mut Streams) -> Result<(), Failure> {
    let head = [
        "batch",
        "loaded (UTC)",
        "source",
        "accepted",
        "refused",
        "state, file",
    ];
    let rows = batches.iter().map(|b| {
        [
            b.batch.to_string(),
            when(&b.loaded_at),
            b.source.clone(),
            b.accepted.to_string(),
            b.refused.to_string(),
            format!("{}, {}", state_words(b), b.file),
        ]
    });
    let rows: Vec<[String; 6]> = std::iter::once(head.map(str::to_owned))
        .chain(rows)
        .collect();
    for line in columns::table(&rows, (5, &[0, 3, 4]), "", streams.width) {
        writeln!(streams.out, "{line}")?;
    }
    Ok(())
}

fn when(loaded_at: &str) -> String {
    let at = DateTime::parse_from_rfc3339(loaded_at);
    at.map_or_else(
        |_| loaded_at.to_owned(),
        |at| at.to_utc().format("%Y-%m-%d %H:%M").to_string(),
    )
}

fn state_words(batch: &ListedBatch) -> String {
    let state = match (batch.state, batch.replaced_by) {
        (State::Current, _) => return "current".to_owned(),
        (State::Undone, _) => return "undone".to_owned(),
        (State::TakenOut, _) => return "taken out".to_owned(),
        (State::Replaced, Some(by)) => format!("replaced by {by}"),
        (State::Replaced, None) => "replaced".to_owned(),
    };
    match batch.rows_kept {
        true => state,
        false => format!("{state}, rows expired"),
    }
}

fn disk_words(disk: &DiskUse) -> String {
    let mib = |bytes: u64| format!("{:.1} MiB", bytes as f64 / 1_048_576.0);
    format!(
        "On the disk: {}: rows in use {}, rows of former batches {}, ledger {}.",
        mib(disk.current + disk.former + disk.ledger),
        mib(disk.current),
        mib(disk.former),
        mib(disk.ledger),
    )
}
