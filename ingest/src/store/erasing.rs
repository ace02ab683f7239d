//! Observers' names erased from all that the store keeps: rows in use and former ones, reports,
//! and ledgers of older versions. Counts and the numbers of parties stay as they are.

use super::blot::Blot;
use super::columns::{self, Columns};
use super::error::StoreError;
use super::landing::remove_all;
use super::ledger::{self, BatchRow};
use super::sweep::rewritten_name;
use super::{Store, copy, written};
use crate::source::observers::PARTS;
use config::nearest::nearest;
use polars::prelude::*;
use rusqlite::{Connection, Transaction, TransactionBehavior, params};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::path::Path;

/// The column with the names kept of a row's observers.
pub(super) const OBSERVER: &str = "observer";

/// Columns with texts as people wrote them.
const WRITTEN: [&str; 4] = ["written", "age", "sex", "plumage"];

/// Whose names are erased.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhoseName<'n> {
    /// One observer's, as it is kept: a name, or first letters where no more is kept.
    One(&'n str),
    /// Everybody's.
    All,
}

/// What was erased.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Erased {
    /// Rows that had the name as an observer's.
    pub rows: u64,
    /// Batches that they are of, former ones among them.
    pub batches: u64,
    /// Other texts that had it: cells that were refused or repaired, and the like.
    pub texts: u64,
}

/// Why nothing was erased.
#[derive(Debug, thiserror::Error)]
pub enum EraseError {
    /// It is kept nowhere.
    #[error(
        "no observer is kept as \"{name}\"{}",
        nearest.as_ref().map_or_else(String::new, |n| format!("; the nearest kept is \"{n}\""))
    )]
    NotKept {
        /// What was asked for.
        name: String,
        /// The nearest that is kept.
        nearest: Option<String>,
    },
    /// The store cannot be used.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<rusqlite::Error> for EraseError {
    fn from(error: rusqlite::Error) -> Self {
        StoreError::from(error).into()
    }
}

impl Store {
    /// Erases an observer's name, or everybody's, from the store.
    ///
    /// # Errors
    ///
    /// [`EraseError`] where no such name is kept, or the store is damaged; it is as it was.
    pub fn erase_observer(&mut self, whose: WhoseName<'_>) -> Result<Erased, EraseError> {
        match (self.erase_names(whose)?, whose) {
            (erased, WhoseName::One(name)) if erased == Erased::default() => {
                Err(not_kept(self, name)?)
            }
            (erased, _) => Ok(erased),
        }
    }

    /// Erases every name that is kept, of whomever.
    pub(crate) fn erase_all_names(&mut self) -> Result<Erased, StoreError> {
        match held(&self.conn)?.is_empty() {
            true => Ok(Erased::default()),
            false => self.erase_names(WhoseName::All),
        }
    }

    fn erase_names(&mut self, whose: WhoseName<'_>) -> Result<Erased, StoreError> {
        // What SQLite lets go of is overwritten.
        self.conn.pragma_update(None, "secure_delete", true)?;
        let immediate = TransactionBehavior::Immediate;
        let tx = self.conn.transaction_with_behavior(immediate)?;
        remove_all(&tx, &self.folder)?;
        let blot = blot(&tx, &self.folder, whose)?;
        let erased = erase_everywhere(&tx, &self.folder, &blot);
        let erased = erased.and_then(|erased| {
            tx.commit()?; // else it is rolled back, unless SQLite did that by itself
            Ok(erased)
        });
        let swept = self.sweep();
        let erased = erased?;
        swept?;
        // What was let go of before may lie in the ledger's free pages; and where an erasure was
        // stopped before this, the one that finds nothing has it still to do.
        self.conn.execute_batch("VACUUM")?;
        Ok(erased)
    }
}

/// The copies of older ledgers first: where they cannot be, or all is stopped, the rows still tell
/// whose names are to go.
fn erase_everywhere(
    tx: &Transaction<'_>,
    folder: &Path,
    blot: &Blot,
) -> Result<Erased, StoreError> {
    let mut in_copies = 0;
    for path in copy::all(folder)? {
        in_copies += erase_copy(&path, blot)?;
    }
    let mut erased = erase(tx, folder, blot)?;
    erased.texts += in_copies;
    Ok(erased)
}

fn not_kept(store: &Store, name: &str) -> Result<EraseError, StoreError> {
    let kept = kept_names(&store.conn, &store.folder)?;
    let nearest = nearest(name, kept.iter().map(String::as_str));
    Ok(EraseError::NotKept {
        name: name.to_owned(),
        nearest: nearest.map(str::to_owned),
    })
}

fn blot(conn: &Connection, folder: &Path, whose: WhoseName<'_>) -> Result<Blot, StoreError> {
    Ok(match whose {
        WhoseName::One(name) => Blot::new([name]),
        WhoseName::All => Blot::new(kept_names(conn, folder)?.iter().map(String::as_str)),
    })
}

/// Batches whose rows are there.
fn held(conn: &Connection) -> Result<Vec<BatchRow>, StoreError> {
    let columns = ledger::BATCH_COLUMNS;
    let query = format!("SELECT {columns} FROM batches WHERE parquet <> '' ORDER BY id");
    let mut statement = conn.prepare(&query)?;
    let rows = statement.query_map([], ledger::batch)?;
    Ok(rows.collect::<Result<_, _>>()?)
}

fn kept_names(conn: &Connection, folder: &Path) -> Result<BTreeSet<String>, StoreError> {
    let mut names = BTreeSet::new();
    for batch in held(conn)? {
        let columns = Columns::read(folder, &batch, &["date", OBSERVER])?;
        let cells = columns.texts(OBSERVER)?.iter().flatten();
        names.extend(cells.flat_map(|cell| cell.split(PARTS)).map(str::to_owned));
    }
    Ok(names)
}

fn erase(tx: &Transaction<'_>, folder: &Path, blot: &Blot) -> Result<Erased, StoreError> {
    let mut erased = Erased::default();
    if blot.is_empty() {
        return Ok(erased);
    }
    for batch in held(tx)? {
        let (rows, texts) = erase_rows(tx, folder, &batch, blot)?;
        erased.rows += rows;
        erased.batches += u64::from(rows > 0);
        erased.texts += texts;
    }
    erased.texts += erase_reports(tx, blot)?;
    if erased != Erased::default() {
        // answers that may repeat what was erased are asked for again
        tx.execute_batch("DELETE FROM asked_of_sites; DELETE FROM asked_of_batches;")?;
    }
    Ok(erased)
}

/// Writes the batch's rows anew, where one has a name: the ledger names the new file, and the old
/// one goes when the transaction has landed.
fn erase_rows(
    tx: &Transaction<'_>,
    folder: &Path,
    batch: &BatchRow,
    blot: &Blot,
) -> Result<(u64, u64), StoreError> {
    Columns::read(folder, batch, &["date"])?; // is the file whole?
    let damaged = |e| columns::damaged(batch, e);
    let mut frame = columns::whole(folder, batch).map_err(damaged)?;
    let rows = replace(&mut frame, OBSERVER, |cell| blot.observers(cell)).map_err(damaged)?;
    let mut texts = 0;
    for name in WRITTEN {
        texts += replace(&mut frame, name, |cell| blot.text(cell)).map_err(damaged)?;
    }
    if rows + texts > 0 {
        let parquet = rewritten_name(&batch.parquet);
        let bytes = written::write_frame(&folder.join(&parquet), &mut frame)?;
        tx.execute(
            "UPDATE batches SET parquet = ?2, bytes = ?3 WHERE id = ?1",
            params![batch.id, parquet, bytes as i64],
        )?;
    }
    Ok((rows, texts))
}

/// Replaces the cells that come out otherwise; an empty one is none. How many there were.
fn replace(
    frame: &mut DataFrame,
    name: &str,
    of: impl Fn(&str) -> Option<String>,
) -> PolarsResult<u64> {
    let Ok(column) = frame.column(name) else {
        return Ok(0);
    };
    let cells = column.str()?;
    let mut replaced = 0;
    let new: StringChunked = cells
        .iter()
        .map(|cell| match cell.and_then(&of) {
            Some(new) => {
                replaced += 1;
                (!new.is_empty()).then_some(new)
            }
            None => cell.map(str::to_owned),
        })
        .collect();
    frame.with_column(new.with_name(name.into()).into_column())?;
    Ok(replaced)
}

fn erase_reports(conn: &Connection, blot: &Blot) -> Result<u64, StoreError> {
    let mut texts = 0;
    for table in ["batches", "last_load"] {
        let query = format!("SELECT id, report FROM {table} WHERE report <> ''");
        let mut statement = conn.prepare(&query)?;
        let rows = statement.query_map([], |row| Ok((row.get(0)?, ledger::json(row, 1)?)))?;
        let rows: Vec<(i64, serde_json::Value)> = rows.collect::<Result<_, _>>()?;
        for (id, mut report) in rows {
            let here = blot.report(&mut report);
            if here > 0 {
                let update = format!("UPDATE {table} SET report = ?2 WHERE id = ?1");
                conn.execute(&update, params![id, ledger::to_json(&report)?])?;
            }
            texts += here;
        }
    }
    texts += super::second_looks::erase(conn, blot)?;
    Ok(texts)
}

/// A ledger that an older version wrote.
fn erase_copy(path: &Path, blot: &Blot) -> Result<u64, StoreError> {
    let mut conn = Connection::open(path)?;
    conn.pragma_update(None, "secure_delete", true)?;
    let tx = conn.transaction()?;
    let texts = erase_reports(&tx, blot)?;
    tx.commit()?;
    conn.execute_batch("VACUUM")?;
    Ok(texts)
}
