//! Lands what a load read: files first, then one transaction of the ledger.

use super::error::StoreError;
use super::ledger::{self, BatchRow};
use super::sweep::{leftovers, parquet_name, remove};
use super::{Store, half_years, retain, seen, summed, undoing, written};
use crate::half_years::Decision;
use crate::load::{Content, Fresh, Prepared};
use crate::report::LoadReport;
use chrono::{DateTime, Utc};
use config::settings::StoreSettings;
use rusqlite::{Transaction, TransactionBehavior};
use std::path::Path;

/// All that a load read.
pub(crate) struct Landing<'a> {
    pub(crate) prepared: &'a [Prepared],
    pub(crate) report: &'a LoadReport,
    /// What was newly decided of half-years.
    pub(crate) decisions: &'a [Decision],
    /// Everything but the sources that the outcome hangs on.
    pub(crate) basis: &'a str,
    /// How much of former batches is kept.
    pub(crate) retention: &'a StoreSettings,
    /// The batch that is undone.
    pub(crate) undo: Option<Undo>,
    pub(crate) now: DateTime<Utc>,
}

/// A batch that is undone.
pub(crate) struct Undo {
    pub(crate) batch: i64,
    /// The one that is brought back.
    pub(crate) former: Option<i64>,
    pub(crate) loaded_at: DateTime<Utc>,
}

impl Store {
    /// The sources' rows as they are to be from now on. Until the commit the ledger names the
    /// former files alone; after it, those go that are kept no longer.
    pub(crate) fn land(&mut self, landing: Landing<'_>) -> Result<(), StoreError> {
        let immediate = TransactionBehavior::Immediate;
        let tx = self.conn.transaction_with_behavior(immediate)?;
        remove_all(&tx, &self.folder)?;
        let landed = match landing.write(&tx, &self.folder) {
            Ok(()) => tx.commit().map_err(StoreError::from),
            // SQLite may have rolled back already, as it does where the disk is full
            Err(error) => tx.finish().map_err(StoreError::from).and(Err(error)),
        };
        // On either way out: files that the ledger does not name.
        let swept = self.sweep();
        landed.and(swept)
    }
}

pub(super) fn remove_all(tx: &Transaction<'_>, folder: &Path) -> Result<(), StoreError> {
    leftovers(tx, folder)?
        .iter()
        .try_for_each(|path| remove(path))
}

impl Landing<'_> {
    fn write(&self, tx: &Transaction<'_>, folder: &Path) -> Result<(), StoreError> {
        if let Some(undo) = &self.undo {
            undoing::undo(tx, undo.batch, undo.former)?;
            half_years::forget(tx, undo.loaded_at)?;
        }
        for source in &self.report.removed_sources {
            ledger::take_out(tx, source)?;
        }
        let known = ledger::batches(tx)?;
        for (place, prepared) in self.prepared.iter().enumerate() {
            match &prepared.content {
                Content::New(fresh) => self.write_batch(tx, folder, prepared, fresh)?,
                Content::Kept(batch) if known.iter().any(|b| b.id == batch.id) => {
                    summed::make_up(tx, folder, batch)?;
                }
                Content::Kept(_) => return Err(StoreError::Overtaken),
                Content::Withheld => {}
            }
            ledger::place(tx, &prepared.report.id, place)?;
        }
        ledger::replace_gaps(tx, &self.report.gaps)?;
        half_years::insert(tx, self.decisions)?;
        ledger::replace_report(tx, self.report, self.basis)?;
        seen::insert(tx, self.prepared.iter().filter_map(|p| p.seen.as_ref()))?;
        retain::retain(tx, self.retention)
    }

    fn write_batch(
        &self,
        tx: &Transaction<'_>,
        folder: &Path,
        prepared: &Prepared,
        fresh: &Fresh,
    ) -> Result<(), StoreError> {
        let report = &prepared.report;
        let id = ledger::insert_batch(tx, &report.id, &self.now.to_rfc3339())?;
        let parquet = parquet_name(id);
        let written = written::write(&folder.join(&parquet), &fresh.batch)?;
        summed::insert(tx, id, &fresh.days, &written.sites)?;
        let row = BatchRow {
            id,
            source: report.id.clone(),
            kind: report.kind,
            file_sha256: prepared.file_sha256.clone(),
            mapping_sha256: prepared.mapping_sha256.clone(),
            fully_reported: prepared.fully_reported,
            parquet,
            bytes: written.bytes,
            report: report.clone(),
        };
        ledger::fill_batch(tx, &row)
    }
}
