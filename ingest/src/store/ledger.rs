//! The ledger's tables and the statements on them.

use super::copy;
use super::error::StoreError;
use crate::report::{Gap, HalfYear, Kind, LoadReport, SourceReport};
use rusqlite::{Connection, OptionalExtension, Row, Transaction, params};
use rusqlite_migration::{M, Migrations};
use serde::de::DeserializeOwned;
use std::path::Path;

/// Each step is applied once and never changed; its number is the ledger's version.
const STEPS: [&str; 8] = [
    include_str!("ledger.sql"),
    include_str!("issued.sql"),
    include_str!("issued_held_to.sql"),
    include_str!("half_years.sql"),
    include_str!("former.sql"),
    include_str!("summed.sql"),
    include_str!("asked.sql"),
    include_str!("second_looks.sql"),
];

/// A source's rows in the store.
#[derive(Debug, Clone)]
pub(crate) struct BatchRow {
    pub(crate) id: i64,
    pub(crate) source: String,
    pub(crate) kind: Kind,
    pub(crate) file_sha256: String,
    pub(crate) mapping_sha256: String,
    pub(crate) fully_reported: bool,
    /// Its Parquet file in the store's folder.
    pub(crate) parquet: String,
    /// Length of that file.
    pub(crate) bytes: u64,
    pub(crate) report: SourceReport,
}

pub(super) fn migrate(conn: &mut Connection, folder: &Path) -> Result<(), StoreError> {
    conn.pragma_update(None, "foreign_keys", true)?;
    let found: i64 = conn.pragma_query_value(None, "user_version", |row| row.get(0))?;
    let known = STEPS.len() as i64;
    if found > known {
        let path = folder.to_owned();
        return Err(StoreError::Newer { path, found, known });
    }
    if found > 0 && found < known {
        copy::keep(conn, folder, found)?;
    }
    let migrations = Migrations::new(STEPS.map(M::up).to_vec());
    migrations.to_latest(conn).map_err(|error| match error {
        rusqlite_migration::Error::RusqliteError { err, .. } => err.into(),
        other => StoreError::Migration(other),
    })
}

/// What [`batch`] reads.
pub(super) const BATCH_COLUMNS: &str = "id, source, kind, file_sha256, mapping_sha256, \
    fully_reported, parquet, bytes, report";

/// The batches in use, in the order of their sources in `wingtide.toml` at the last load.
pub(super) fn batches(conn: &Connection) -> Result<Vec<BatchRow>, StoreError> {
    let mut statement = conn.prepare(&format!(
        "SELECT {BATCH_COLUMNS} FROM batches WHERE state = 'current' ORDER BY place, id"
    ))?;
    let rows = statement.query_map([], batch)?;
    Ok(rows.collect::<Result<_, _>>()?)
}

pub(super) fn batch(row: &Row<'_>) -> rusqlite::Result<BatchRow> {
    Ok(BatchRow {
        id: row.get(0)?,
        source: row.get(1)?,
        kind: json(row, 2)?,
        file_sha256: row.get(3)?,
        mapping_sha256: row.get(4)?,
        fully_reported: row.get(5)?,
        parquet: row.get(6)?,
        bytes: row.get::<_, i64>(7)?.unsigned_abs(),
        report: json(row, 8)?,
    })
}

pub(super) fn json<T: DeserializeOwned>(row: &Row<'_>, column: usize) -> rusqlite::Result<T> {
    let text: String = row.get(column)?;
    let wrong = |e| {
        let text = rusqlite::types::Type::Text;
        rusqlite::Error::FromSqlConversionFailure(column, text, Box::new(e))
    };
    serde_json::from_str(&text).map_err(wrong)
}

pub(super) fn gaps(conn: &Connection) -> Result<Vec<Gap>, StoreError> {
    let mut statement =
        conn.prepare("SELECT site, year, half, visits FROM gaps ORDER BY site, year, half")?;
    let rows = statement.query_map([], |row| {
        let half = HalfYear {
            year: row.get(1)?,
            half: row.get(2)?,
        };
        let visits = row.get::<_, i64>(3)?.unsigned_abs();
        Ok(Gap {
            site: row.get(0)?,
            half,
            visits,
        })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// The report on the last load that changed anything, and what its outcome hung on.
pub(super) fn last_load(conn: &Connection) -> Result<Option<(LoadReport, String)>, StoreError> {
    let mut statement = conn.prepare("SELECT report, basis FROM last_load")?;
    let row = statement.query_row([], |row| Ok((json(row, 0)?, row.get(1)?)));
    Ok(row.optional()?)
}

/// Makes room for a source's new rows; the id names their file.
pub(super) fn insert_batch(
    tx: &Transaction<'_>,
    source: &str,
    loaded_at: &str,
) -> Result<i64, StoreError> {
    let mut former =
        tx.prepare("SELECT id FROM batches WHERE source = ?1 AND state = 'current'")?;
    let former: Option<i64> = former.query_row([source], |row| row.get(0)).optional()?;
    tx.execute(
        "UPDATE batches SET state = 'replaced' WHERE source = ?1 AND state = 'current'",
        [source],
    )?;
    tx.execute(
        "INSERT INTO batches (source, replaces, loaded_at) VALUES (?1, ?2, ?3)",
        params![source, former, loaded_at],
    )?;
    Ok(tx.last_insert_rowid())
}

/// Fills a batch whose file is written.
pub(super) fn fill_batch(tx: &Transaction<'_>, batch: &BatchRow) -> Result<(), StoreError> {
    tx.execute(
        "UPDATE batches SET kind = ?2, file_sha256 = ?3, mapping_sha256 = ?4, \
         fully_reported = ?5, parquet = ?6, bytes = ?7, file = ?8, rows = ?9, report = ?10 \
         WHERE id = ?1",
        params![
            batch.id,
            to_json(&batch.kind)?,
            batch.file_sha256,
            batch.mapping_sha256,
            batch.fully_reported,
            batch.parquet,
            batch.bytes as i64,
            batch.report.file,
            batch.report.accepted as i64,
            to_json(&batch.report)?,
        ],
    )?;
    Ok(())
}

pub(super) fn take_out(tx: &Transaction<'_>, source: &str) -> Result<(), StoreError> {
    tx.execute(
        "UPDATE batches SET state = 'taken-out' WHERE source = ?1 AND state = 'current'",
        [source],
    )?;
    Ok(())
}

/// Keeps the order of sources for what is asked without `wingtide.toml` at hand.
pub(super) fn place(tx: &Transaction<'_>, source: &str, place: usize) -> Result<(), StoreError> {
    tx.execute(
        "UPDATE batches SET place = ?2 WHERE source = ?1 AND state = 'current'",
        params![source, place as i64],
    )?;
    Ok(())
}

pub(super) fn replace_gaps(tx: &Transaction<'_>, gaps: &[Gap]) -> Result<(), StoreError> {
    tx.execute("DELETE FROM gaps", [])?;
    for gap in gaps {
        tx.execute(
            "INSERT INTO gaps (site, year, half, visits) VALUES (?1, ?2, ?3, ?4)",
            params![gap.site, gap.half.year, gap.half.half, gap.visits as i64],
        )?;
    }
    Ok(())
}

pub(super) fn replace_report(
    tx: &Transaction<'_>,
    report: &LoadReport,
    basis: &str,
) -> Result<(), StoreError> {
    tx.execute(
        "INSERT OR REPLACE INTO last_load (id, loaded_at, report, basis) VALUES (1, ?1, ?2, ?3)",
        params![report.loaded_at.to_rfc3339(), to_json(report)?, basis],
    )?;
    Ok(())
}

pub(super) fn to_json<T: serde::Serialize>(value: &T) -> Result<String, StoreError> {
    serde_json::to_string(value).map_err(StoreError::Json)
}
