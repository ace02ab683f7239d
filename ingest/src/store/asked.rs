//! Answers to questions about records, kept with what they follow from.

use super::error::StoreError;
use super::ledger;
use super::{BatchRow, Store};
use crate::report::Kind;
use crate::suspects::{OfBatch, OfSite};
use rusqlite::{OptionalExtension, params};
use std::collections::BTreeMap;

impl Store {
    /// The batches that tell of each site, in their order. None where a batch of an older version
    /// does not stand site by site.
    pub(crate) fn batches_by_site<'b>(
        &self,
        batches: &'b [BatchRow],
    ) -> Result<Option<BTreeMap<String, Vec<&'b BatchRow>>>, StoreError> {
        let mut sites: BTreeMap<String, Vec<&BatchRow>> = BTreeMap::new();
        let mut statement = self
            .conn
            .prepare("SELECT site, first_row IS NOT NULL FROM batch_sites WHERE batch = ?1")?;
        for batch in batches.iter().filter(|b| b.kind != Kind::Temperature) {
            let rows = statement.query_map([batch.id], |row| Ok((row.get(0)?, row.get(1)?)))?;
            let rows: Vec<(String, bool)> = rows.collect::<Result<_, _>>()?;
            let whole = batch.kind != Kind::Counts || rows.iter().all(|(_, placed)| *placed);
            if rows.is_empty() || !whole {
                return Ok(None);
            }
            for (site, _) in rows {
                sites.entry(site).or_default().push(batch);
            }
        }
        Ok(Some(sites))
    }

    /// What was asked of a site's records.
    pub(crate) fn asked_of_site(
        &self,
        site: &str,
        inputs: &str,
    ) -> Result<Option<OfSite>, StoreError> {
        let mut statement = self
            .conn
            .prepare("SELECT asked FROM asked_of_sites WHERE site = ?1 AND inputs = ?2")?;
        let row = statement.query_row([site, inputs], |row| ledger::json(row, 0));
        Ok(row.optional()?)
    }

    /// What a batch says to questions over all sites.
    pub(crate) fn asked_of_batch(
        &self,
        batch: i64,
        inputs: &str,
    ) -> Result<Option<OfBatch>, StoreError> {
        let mut statement = self
            .conn
            .prepare("SELECT asked FROM asked_of_batches WHERE batch = ?1 AND inputs = ?2")?;
        let row = statement.query_row(params![batch, inputs], |row| ledger::json(row, 0));
        Ok(row.optional()?)
    }

    /// Keeps what was asked of sites: each with what it follows from.
    pub(crate) fn keep_asked_of_sites(
        &self,
        sites: &[(&str, String, OfSite)],
    ) -> Result<(), StoreError> {
        let tx = self.conn.unchecked_transaction()?;
        for (site, inputs, asked) in sites {
            tx.execute(
                "INSERT OR REPLACE INTO asked_of_sites (site, inputs, asked) VALUES (?1, ?2, ?3)",
                params![site, inputs, ledger::to_json(asked)?],
            )?;
        }
        Ok(tx.commit()?)
    }

    /// Keeps what a batch says.
    pub(crate) fn keep_asked_of_batch(
        &self,
        batch: i64,
        inputs: &str,
        asked: &OfBatch,
    ) -> Result<(), StoreError> {
        self.conn.execute(
            "INSERT OR REPLACE INTO asked_of_batches (batch, inputs, asked) VALUES (?1, ?2, ?3)",
            params![batch, inputs, ledger::to_json(asked)?],
        )?;
        Ok(())
    }
}
