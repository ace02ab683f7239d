//! What is still known of one load of a source, in use or not.

use super::error::StoreError;
use super::{Store, batches, ledger};
use crate::report::LoadReport;
use chrono::{DateTime, NaiveDate};
use rusqlite::OptionalExtension;
use rusqlite::types::Type;
use std::collections::{BTreeMap, BTreeSet};

/// A load of one source.
#[derive(Debug, Clone)]
pub struct FormerLoad {
    /// What it did; nothing of sites, which hang on all sources.
    pub report: LoadReport,
    /// Dates with a row by site id; none where its rows are kept no longer.
    pub dates: BTreeMap<String, BTreeSet<NaiveDate>>,
}

impl Store {
    /// The load of that batch; None where there is no such batch.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the store is damaged.
    pub fn former_load(&self, batch: i64) -> Result<Option<FormerLoad>, StoreError> {
        let columns = ledger::BATCH_COLUMNS;
        let query = format!("SELECT {columns}, loaded_at FROM batches WHERE id = ?1");
        let mut statement = self.conn.prepare(&query)?;
        let row = statement.query_row([batch], |row| {
            let at: String = row.get("loaded_at")?;
            let wrong = |e| rusqlite::Error::FromSqlConversionFailure(9, Type::Text, Box::new(e));
            let at = DateTime::parse_from_rfc3339(&at).map_err(wrong)?;
            Ok((ledger::batch(row)?, at.to_utc()))
        });
        let Some((batch, loaded_at)) = row.optional()? else {
            return Ok(None);
        };
        let mut dates = BTreeMap::new();
        if !batch.parquet.is_empty() {
            for (site, days) in batches::days(&self.folder, &batch)? {
                dates.insert(site, days.into_keys().collect());
            }
        }
        let report = LoadReport {
            loaded_at,
            unchanged: false,
            sources: vec![batch.report],
            removed_sources: Vec::new(),
            names_erased: None,
            sites: Vec::new(),
            gaps: Vec::new(),
            half_years: Vec::new(),
            overlaps: Vec::new(),
            offers: Vec::new(),
        };
        Ok(Some(FormerLoad { report, dates }))
    }
}
