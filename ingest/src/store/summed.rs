//! What the ledger knows of each batch by site, so that batches are read only for what they say of
//! birds.

use super::Store;
use super::batches;
use super::columns::damaged;
use super::error::StoreError;
use super::frames::SiteRows;
use super::ledger::{self, BatchRow};
use crate::report::Kind;
use crate::source::DaysBySite;
use crate::visit::{KeptDates, KeptDays};
use chrono::NaiveDate;
use rusqlite::{Connection, OptionalExtension, Transaction, params};
use std::path::Path;
use std::sync::Arc;

/// Where the rows of a site stand in the file of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Where {
    /// Anywhere.
    Anywhere,
    /// So many from a place on.
    Part(usize, usize),
    /// It has none.
    Nowhere,
}

impl Store {
    /// The dated rows of a batch by site; none of a temperature batch.
    pub(crate) fn days(&self, batch: &BatchRow) -> Result<Arc<DaysBySite>, StoreError> {
        let mut statement = self
            .conn
            .prepare("SELECT site, days FROM batch_sites WHERE batch = ?1")?;
        let rows = statement.query_map([batch.id], |row| {
            Ok((row.get::<_, String>(0)?, ledger::json::<KeptDays>(row, 1)?))
        })?;
        let mut days = DaysBySite::new();
        for row in rows {
            let (site, kept) = row?;
            days.insert(site, kept.days().ok_or_else(|| unfit(batch))?);
        }
        match days.is_empty() {
            true => batches::days(&self.folder, batch).map(Arc::new),
            false => Ok(Arc::new(days)),
        }
    }

    /// The dates alone of what [`Store::days`] gives.
    pub(super) fn dates(
        &self,
        batch: &BatchRow,
    ) -> Result<Vec<(String, Vec<NaiveDate>)>, StoreError> {
        let sql = "SELECT site, days FROM batch_sites WHERE batch = ?1";
        let mut statement = self.conn.prepare(sql)?;
        let rows = statement.query_map([batch.id], |row| {
            Ok((row.get(0)?, ledger::json::<KeptDates>(row, 1)?))
        })?;
        let mut dates = Vec::new();
        for row in rows {
            let (site, kept) = row?;
            dates.push((site, kept.dates().ok_or_else(|| unfit(batch))?));
        }
        if dates.is_empty() {
            let days = batches::days(&self.folder, batch)?.into_iter();
            dates = days
                .map(|(site, days)| (site, days.into_keys().collect()))
                .collect();
        }
        Ok(dates)
    }

    /// Of the dated rows those of one site.
    pub(crate) fn days_of_site(
        &self,
        batch: &BatchRow,
        site: &str,
    ) -> Result<Arc<DaysBySite>, StoreError> {
        if !is_summed(&self.conn, batch.id)? {
            return self.days(batch);
        }
        let mut statement = self
            .conn
            .prepare("SELECT days FROM batch_sites WHERE batch = ?1 AND site = ?2")?;
        let kept = statement.query_row(params![batch.id, site], |row| {
            ledger::json::<KeptDays>(row, 0)
        });
        let mut days = DaysBySite::new();
        if let Some(kept) = kept.optional()? {
            let of_site = kept.days().ok_or_else(|| unfit(batch))?;
            days.insert(site.to_owned(), of_site);
        }
        Ok(Arc::new(days))
    }

    /// Where the rows of the site stand in the batch.
    pub(super) fn place(&self, batch: &BatchRow, site: &str) -> Result<Where, StoreError> {
        if !is_summed(&self.conn, batch.id)? {
            return Ok(Where::Anywhere);
        }
        let mut statement = self
            .conn
            .prepare("SELECT first_row, rows FROM batch_sites WHERE batch = ?1 AND site = ?2")?;
        let part = statement.query_row(params![batch.id, site], |row| {
            let number = |column| row.get::<_, Option<i64>>(column);
            Ok(number(0)?.zip(number(1)?))
        });
        Ok(match part.optional()? {
            None => Where::Nowhere,
            Some(None) => Where::Anywhere,
            Some(Some((first, rows))) => {
                Where::Part(first.unsigned_abs() as usize, rows.unsigned_abs() as usize)
            }
        })
    }
}

fn unfit(batch: &BatchRow) -> StoreError {
    damaged(
        batch,
        "the ledger's list of its dates does not fit together",
    )
}

/// Batches of an older version are not.
pub(super) fn is_summed(conn: &Connection, batch: i64) -> Result<bool, StoreError> {
    let mut statement = conn.prepare("SELECT 1 FROM batch_sites WHERE batch = ?1 LIMIT 1")?;
    Ok(statement.exists([batch])?)
}

/// Keeps what the batch holds of each site.
pub(super) fn insert(
    tx: &Transaction<'_>,
    batch: i64,
    days: &DaysBySite,
    places: &[SiteRows],
) -> Result<(), StoreError> {
    let mut statement = tx.prepare(
        "INSERT INTO batch_sites (batch, site, first_row, rows, days) VALUES (?1, ?2, ?3, ?4, ?5)",
    )?;
    for (site, days) in days {
        let place = places.iter().find(|p| p.site == *site);
        let number = |of: fn(&SiteRows) -> u64| place.map(|p| of(p) as i64);
        let days = ledger::to_json(&KeptDays::of(days))?;
        let (first, rows) = (number(|p| p.first), number(|p| p.rows));
        statement.execute(params![batch, site, first, rows, days])?;
    }
    Ok(())
}

/// Keeps it of a batch that an older version wrote.
pub(super) fn make_up(
    tx: &Transaction<'_>,
    folder: &Path,
    batch: &BatchRow,
) -> Result<(), StoreError> {
    match batch.kind == Kind::Temperature || is_summed(tx, batch.id)? {
        true => Ok(()),
        false => insert(tx, batch.id, &batches::days(folder, batch)?, &[]),
    }
}

/// Forgets what batches hold whose rows are kept no longer.
pub(super) fn forget_let_go(tx: &Transaction<'_>) -> Result<(), StoreError> {
    for table in ["batch_sites", "asked_of_batches"] {
        let let_go = "SELECT id FROM batches WHERE parquet = ''";
        tx.execute(
            &format!("DELETE FROM {table} WHERE batch IN ({let_go})"),
            [],
        )?;
    }
    Ok(())
}
