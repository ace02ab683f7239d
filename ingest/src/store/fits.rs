//! What was fitted, kept as JSON that this crate does not look into.

use super::error::StoreError;
use super::{Store, ledger};
use rusqlite::{OptionalExtension, params};
use serde_json::Value;

impl Store {
    /// Replaces the fits of a site. `inputs` is the fingerprint of the history they were fitted
    /// to ([`super::SiteHistory::fingerprint`]).
    pub fn save_fits(
        &mut self,
        site: &str,
        inputs: &str,
        fits: &[(String, Value)],
    ) -> Result<(), StoreError> {
        let tx = self.conn.transaction()?;
        tx.execute("DELETE FROM fits WHERE site = ?1", [site])?;
        for (species, fit) in fits {
            tx.execute(
                "INSERT INTO fits (site, species, inputs, fit) VALUES (?1, ?2, ?3, ?4)",
                params![site, species, inputs, ledger::to_json(fit)?],
            )?;
        }
        tx.commit()?;
        Ok(())
    }

    /// The fits of a site by species, in the order of names; none where none were made.
    pub fn fits(&self, site: &str) -> Result<Vec<(String, Value)>, StoreError> {
        let mut statement = self
            .conn
            .prepare("SELECT species, fit FROM fits WHERE site = ?1 ORDER BY species")?;
        let rows = statement.query_map([site], |row| {
            Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?))
        })?;
        let mut fits = Vec::new();
        for row in rows {
            let (species, fit) = row?;
            fits.push((
                species,
                serde_json::from_str(&fit).map_err(StoreError::Json)?,
            ));
        }
        Ok(fits)
    }

    /// Fingerprint of the history that a site's fits were fitted to; None where none were made.
    /// The fits are out of date where it is not that of the site's history.
    pub fn fits_inputs(&self, site: &str) -> Result<Option<String>, StoreError> {
        let mut statement = self
            .conn
            .prepare("SELECT inputs FROM fits WHERE site = ?1 LIMIT 1")?;
        Ok(statement.query_row([site], |row| row.get(0)).optional()?)
    }
}
