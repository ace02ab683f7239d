//! Every load of a source that there ever was, and what became of it.

use super::error::StoreError;
use super::{Store, ledger};
use crate::report::{Changes, Kind};
use rusqlite::Row;
use serde::Serialize;
use std::collections::HashMap;

/// A load of a source, in use or not.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ListedBatch {
    /// Its number, in the order of loads.
    pub batch: i64,
    /// Id of its source.
    pub source: String,
    /// What it holds.
    pub kind: Kind,
    /// When it was loaded: RFC 3339, UTC.
    pub loaded_at: String,
    /// Its file, relative to the workspace where it lies inside.
    pub file: String,
    /// SHA-256 of the file.
    pub file_sha256: String,
    /// SHA-256 of how the file was read.
    pub mapping_sha256: String,
    /// Rows taken.
    pub accepted: u64,
    /// Rows not taken.
    pub refused: u64,
    /// Birds counted in it; 0 of a source that holds no counts.
    pub birds: u64,
    /// What it changed against the batch before it.
    pub changes: Option<Changes>,
    /// What became of it.
    pub state: State,
    /// The batch that replaced it.
    pub replaced_by: Option<i64>,
    /// Are its rows still kept?
    pub rows_kept: bool,
    /// What they take on the disk, bytes.
    pub bytes: u64,
    /// The batch that was in use for its source before it.
    pub replaces: Option<i64>,
}

/// What became of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// In use.
    Current,
    /// A later load of its source took its place.
    Replaced,
    /// Undone.
    Undone,
    /// Its source is no longer listed in `wingtide.toml`.
    TakenOut,
}

/// What the store takes on the disk, bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct DiskUse {
    /// Rows in use.
    pub current: u64,
    /// Rows of former batches.
    pub former: u64,
    /// The ledger.
    pub ledger: u64,
}

impl Store {
    /// Every batch that was ever loaded, the first one first.
    pub fn listed_batches(&self) -> Result<Vec<ListedBatch>, StoreError> {
        // The reports may be long: SQLite picks out what is asked for.
        let mut statement = self.conn.prepare(
            "SELECT id, source, kind, loaded_at, file, file_sha256, mapping_sha256, rows, \
             json_array_length(report, '$.refused'), \
             (SELECT total(value ->> '$.birds') FROM json_each(report, '$.species')), \
             coalesce(report -> '$.changes', 'null'), state, replaces, parquet <> '', bytes \
             FROM batches ORDER BY id",
        )?;
        let rows = statement.query_map([], listed)?;
        let mut batches: Vec<ListedBatch> = rows.collect::<Result<_, _>>()?;
        let standing = batches.iter().filter(|b| b.state != State::Undone);
        let by: HashMap<i64, i64> = standing
            .filter_map(|b| Some((b.replaces?, b.batch)))
            .collect();
        for batch in batches.iter_mut().filter(|b| b.state == State::Replaced) {
            batch.replaced_by = by.get(&batch.batch).copied();
        }
        Ok(batches)
    }

    /// What the store takes on the disk.
    pub fn disk_use(&self) -> Result<DiskUse, StoreError> {
        let batches = self.listed_batches()?;
        let of = |current: bool| {
            let alike = batches
                .iter()
                .filter(|b| (b.state == State::Current) == current);
            alike.map(|b| b.bytes).sum()
        };
        let path = self.ledger_path();
        let ledger = std::fs::metadata(&path).map_err(|cause| StoreError::Disk {
            path,
            doing: "read",
            cause,
        })?;
        Ok(DiskUse {
            current: of(true),
            former: of(false),
            ledger: ledger.len(),
        })
    }
}

fn listed(row: &Row<'_>) -> rusqlite::Result<ListedBatch> {
    let number = |column| row.get::<_, i64>(column).map(i64::unsigned_abs);
    Ok(ListedBatch {
        batch: row.get(0)?,
        source: row.get(1)?,
        kind: ledger::json(row, 2)?,
        loaded_at: row.get(3)?,
        file: row.get(4)?,
        file_sha256: row.get(5)?,
        mapping_sha256: row.get(6)?,
        accepted: number(7)?,
        refused: number(8)?,
        birds: row.get::<_, f64>(9)? as u64,
        changes: ledger::json(row, 10)?,
        state: State::of(&row.get::<_, String>(11)?),
        replaces: row.get(12)?,
        replaced_by: None,
        rows_kept: row.get(13)?,
        bytes: number(14)?,
    })
}

impl State {
    /// As the ledger writes it.
    pub(super) fn of(written: &str) -> Self {
        match written {
            "current" => State::Current,
            "replaced" => State::Replaced,
            "undone" => State::Undone,
            _ => State::TakenOut,
        }
    }
}
