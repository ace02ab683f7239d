//! Batches that are undone: which can be, and what the ledger knows of those that were.

use super::error::StoreError;
use super::listed::{ListedBatch, State};
use super::{BatchRow, Store, ledger};
use chrono::{DateTime, Utc};
use rusqlite::types::Type;
use rusqlite::{Connection, OptionalExtension, Transaction, params};

/// Why a batch is not undone.
#[derive(Debug, thiserror::Error)]
pub enum UndoError {
    /// There is none of that number.
    #[error("there is no batch {0}; `wingtide batches` lists them")]
    Unknown(i64),
    /// A later one stands on it.
    #[error(
        "batch {batch} of source \"{source_id}\" was replaced by batch {by}: undo that one first"
    )]
    Replaced {
        /// The batch.
        batch: i64,
        /// Its source.
        source_id: String,
        /// The batch that took its place.
        by: i64,
    },
    /// It was undone before.
    #[error("batch {0} is undone already")]
    Already(i64),
    /// Its source is no longer listed.
    #[error(
        "batch {batch} is not in use: wingtide.toml no longer listed its source \"{source_id}\" \
         when files were last loaded"
    )]
    TakenOut {
        /// The batch.
        batch: i64,
        /// Its source.
        source_id: String,
    },
    /// What it replaced is gone.
    #[error(
        "the rows of batch {former}, which batch {batch} replaced, are kept no longer ([store] in \
         wingtide.toml says how many are): bring back the file that it was and run `wingtide load`"
    )]
    Expired {
        /// The batch.
        batch: i64,
        /// The one before it.
        former: i64,
    },
    /// The store cannot be used.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<rusqlite::Error> for UndoError {
    fn from(error: rusqlite::Error) -> Self {
        StoreError::from(error).into()
    }
}

/// A batch that was undone.
#[derive(Debug, Clone)]
pub(crate) struct UndoneBatch {
    pub(crate) id: i64,
    pub(crate) source: String,
    pub(crate) replaces: Option<i64>,
    pub(crate) file_sha256: String,
    pub(crate) mapping_sha256: String,
}

/// A batch in use and the one that an undo of it brings back.
pub(crate) struct Undoable {
    pub(crate) batch: ListedBatch,
    pub(crate) former: Option<BatchRow>,
}

impl Undoable {
    /// When the batch was loaded: the stamp of what its load decided.
    pub(crate) fn loaded_at(&self) -> Result<DateTime<Utc>, StoreError> {
        let at = DateTime::parse_from_rfc3339(&self.batch.loaded_at);
        let wrong = |e| rusqlite::Error::FromSqlConversionFailure(3, Type::Text, Box::new(e));
        Ok(at.map_err(wrong)?.to_utc())
    }
}

impl Store {
    pub(crate) fn undone(&self) -> Result<Vec<UndoneBatch>, StoreError> {
        let mut statement = self.conn.prepare(
            "SELECT id, source, replaces, file_sha256, mapping_sha256 FROM batches \
             WHERE state = 'undone' ORDER BY id",
        )?;
        let rows = statement.query_map([], |row| {
            Ok(UndoneBatch {
                id: row.get(0)?,
                source: row.get(1)?,
                replaces: row.get(2)?,
                file_sha256: row.get(3)?,
                mapping_sha256: row.get(4)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    pub(crate) fn undoable(&self, id: i64) -> Result<Undoable, UndoError> {
        let found = self.listed_batches()?.into_iter().find(|b| b.batch == id);
        let batch = found.ok_or(UndoError::Unknown(id))?;
        let source_id = batch.source.clone();
        match (batch.state, batch.replaced_by) {
            (State::Current, _) => {}
            (State::Replaced, Some(by)) => {
                let batch = id;
                return Err(UndoError::Replaced {
                    batch,
                    source_id,
                    by,
                });
            }
            (State::Undone, _) => return Err(UndoError::Already(id)),
            _ => {
                let batch = id;
                return Err(UndoError::TakenOut { batch, source_id });
            }
        }
        let former = batch.replaces.map(|former| {
            let row = kept(&self.conn, former)?;
            row.ok_or(UndoError::Expired { batch: id, former })
        });
        Ok(Undoable {
            batch,
            former: former.transpose()?,
        })
    }
}

/// The batch where its rows are kept.
fn kept(conn: &Connection, id: i64) -> Result<Option<BatchRow>, StoreError> {
    let mut statement = conn.prepare(&format!(
        "SELECT {} FROM batches WHERE id = ?1 AND parquet <> ''",
        ledger::BATCH_COLUMNS
    ))?;
    Ok(statement.query_row([id], ledger::batch).optional()?)
}

/// Takes a batch out of use and brings back the one before it.
pub(super) fn undo(
    tx: &Transaction<'_>,
    batch: i64,
    former: Option<i64>,
) -> Result<(), StoreError> {
    let undone = tx.execute(
        "UPDATE batches SET state = 'undone' WHERE id = ?1 AND state = 'current'",
        [batch],
    )?;
    if undone == 0 {
        return Err(StoreError::Overtaken);
    }
    if let Some(former) = former {
        let back = tx.execute(
            "UPDATE batches SET state = 'current', \
             place = (SELECT place FROM batches WHERE id = ?2) \
             WHERE id = ?1 AND state = 'replaced' AND parquet <> ''",
            params![former, batch],
        )?;
        if back == 0 {
            return Err(StoreError::Overtaken);
        }
    }
    Ok(())
}
