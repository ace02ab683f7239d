//! `wingtide undo`: a batch taken out of use and the one before it brought back.

use crate::load::{Content, Prepared, is_fully_reported, still};
use crate::mapping;
use crate::names_kept;
use crate::report::{LoadReport, Note, SourceReport};
use crate::settle;
use crate::store::{BatchRow, Landing, ListedBatch, Store, Undo, UndoError};
use chrono::{DateTime, Utc};
use config::settings::{Source, Workspace};
use std::path::Path;

/// What an undo did.
#[derive(Debug)]
pub struct Undone {
    /// The batch that was undone, as it stood.
    pub batch: ListedBatch,
    /// The batch that is in use again; None where its source has no rows now.
    pub back_to: Option<i64>,
    /// What the store holds now.
    pub report: LoadReport,
}

/// Takes the batch out of use and brings back the state of its source before it: the rows of the
/// batch that it replaced, or none. What the batch's load decided of half-years is forgotten and
/// decided anew. The next [`crate::load`] leaves the file of the batch alone.
///
/// # Errors
///
/// [`UndoError`] where the batch is not in use or what it replaced is kept no longer; the store
/// is as it was.
pub fn undo(
    workspace: &Workspace,
    store_root: &Path,
    batch: i64,
    now: DateTime<Utc>,
) -> Result<Undone, UndoError> {
    let mut store = Store::open_loaded(store_root)?;
    let undoable = store.undoable(batch)?;
    let loaded_at = undoable.loaded_at()?;
    let back_to = undoable.former.as_ref().map(|b| b.id);
    let prepared = after(&store, &undoable.batch, undoable.former)?;
    let outcome = settle::outcome(settle::Inputs {
        workspace,
        store: &store,
        prepared: &prepared,
        removed_sources: Vec::new(),
        forgotten: Some(loaded_at),
        now,
    })?;
    store.land(Landing {
        prepared: &prepared,
        report: &outcome.report,
        decisions: &outcome.settled.new,
        basis: &names_kept::as_before(&store, settle::basis(workspace, now))?,
        retention: &workspace.store,
        undo: Some(Undo {
            batch,
            former: back_to,
            loaded_at,
        }),
        now,
    })?;
    Ok(Undone {
        batch: undoable.batch,
        back_to,
        report: outcome.report,
    })
}

/// The sources as they stand when the batch is undone.
fn after(
    store: &Store,
    undone: &ListedBatch,
    former: Option<BatchRow>,
) -> Result<Vec<Prepared>, UndoError> {
    let mut former = Some(former);
    let mut prepared = Vec::new();
    for batch in store.batches()? {
        prepared.push(match former.take_if(|_| batch.id == undone.batch) {
            None => kept(batch, None),
            Some(Some(former)) => kept(former, Some(undone.batch)),
            Some(None) => without(&batch, undone.batch),
        });
    }
    Ok(prepared)
}

/// A source whose rows are in the store.
fn kept(batch: BatchRow, undone: Option<i64>) -> Prepared {
    let mut report = still(&batch.report);
    report
        .notes
        .extend(undone.map(|id| left_alone(id, Some(batch.id))));
    Prepared {
        report,
        file_sha256: batch.file_sha256.clone(),
        mapping_sha256: batch.mapping_sha256.clone(),
        fully_reported: batch.fully_reported,
        content: Content::Kept(Box::new(batch)),
        seen: None,
    }
}

/// A source that has no rows now that its only batch is undone.
fn without(batch: &BatchRow, undone: i64) -> Prepared {
    let report = SourceReport::new(&batch.source, batch.kind, &batch.report.file);
    empty(report, undone, batch.fully_reported)
}

fn empty(mut report: SourceReport, undone: i64, fully_reported: bool) -> Prepared {
    report.unchanged = true;
    report.notes.push(left_alone(undone, None));
    Prepared {
        report,
        file_sha256: String::new(),
        mapping_sha256: String::new(),
        fully_reported,
        content: Content::Withheld,
        seen: None,
    }
}

/// A source whose file a load leaves alone, since the batch that held it was undone.
pub(crate) fn withheld(
    workspace: &Workspace,
    source: &Source,
    in_use: Option<&BatchRow>,
    undone: i64,
) -> Prepared {
    match in_use {
        Some(batch) => kept(batch.clone(), Some(undone)),
        None => {
            let file = mapping::file_name(workspace, source);
            let report = SourceReport::new(&source.id, mapping::kind(source), &file);
            empty(report, undone, is_fully_reported(source))
        }
    }
}

fn left_alone(undone: i64, back_to: Option<i64>) -> Note {
    let rows = match back_to {
        Some(id) => format!("the rows are those of batch {id}"),
        None => "there are no rows".to_owned(),
    };
    Note {
        file: None,
        line: None,
        text: format!(
            "Batch {undone} was undone, so {rows}. `wingtide load` leaves the file that batch \
             {undone} held alone until it changes or wingtide.toml reads it otherwise; `wingtide \
             load --again` loads it as it is."
        ),
    }
}

/// Said where a file is loaded although its batch was undone.
pub(crate) fn loaded_again(undone: i64) -> Note {
    Note {
        file: None,
        line: None,
        text: format!("This is the file of batch {undone}, which was undone; it is loaded again."),
    }
}
