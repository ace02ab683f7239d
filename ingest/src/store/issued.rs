//! Forecasts as they were issued, and how often such forecasts came true.

use super::StoreError;
use super::{Store, ledger};
use chrono::{DateTime, NaiveDate, SecondsFormat, Utc};
use rusqlite::{OptionalExtension, params};
use serde_json::Value;

/// A species' chances in a week, as issued.
#[derive(Debug, Clone, PartialEq)]
pub struct IssuedChance {
    /// Scientific name.
    pub species: String,
    /// First day of the week.
    pub monday: NaiveDate,
    /// Visits that `chance_week` assumed.
    pub visits_assumed: u32,
    /// Probability of at least one on one standard visit.
    pub chance_visit: f64,
    /// Probability of at least one in the assumed visits.
    pub chance_week: f64,
}

impl Store {
    /// Keeps what was issued for a site from the history of that fingerprint; what is kept
    /// already stays as it was.
    pub fn keep_issued(
        &mut self,
        site: &str,
        inputs: &str,
        now: DateTime<Utc>,
        chances: &[IssuedChance],
    ) -> Result<(), StoreError> {
        let issued_at = now.to_rfc3339_opts(SecondsFormat::Secs, true);
        let tx = self.conn.transaction()?;
        for c in chances {
            tx.execute(
                "INSERT OR IGNORE INTO issued (site, species, monday, inputs, issued_at, \
                 visits_assumed, chance_visit, chance_week) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                params![
                    site,
                    c.species,
                    c.monday.to_string(),
                    inputs,
                    issued_at,
                    c.visits_assumed,
                    c.chance_visit,
                    c.chance_week
                ],
            )?;
        }
        tx.commit()?;
        Ok(())
    }

    /// What was last issued for each species and week of a site, in the order of weeks.
    pub fn issued(&self, site: &str) -> Result<Vec<IssuedChance>, StoreError> {
        let mut statement = self.conn.prepare(
            "SELECT species, monday, visits_assumed, chance_visit, chance_week, MAX(issued_at) \
             FROM issued WHERE site = ?1 GROUP BY species, monday ORDER BY monday, species",
        )?;
        let rows = statement.query_map([site], |row| {
            let monday: String = row.get(1)?;
            let wrong = |e: chrono::ParseError| {
                rusqlite::Error::FromSqlConversionFailure(
                    1,
                    rusqlite::types::Type::Text,
                    Box::new(e),
                )
            };
            Ok(IssuedChance {
                species: row.get(0)?,
                monday: monday.parse().map_err(wrong)?,
                visits_assumed: row.get(2)?,
                chance_visit: row.get(3)?,
                chance_week: row.get(4)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Replaces a site's record, worked out from the history of that fingerprint.
    pub fn save_record(
        &mut self,
        site: &str,
        inputs: &str,
        record: &Value,
    ) -> Result<(), StoreError> {
        self.conn.execute(
            "INSERT INTO records (site, inputs, record) VALUES (?1, ?2, ?3) \
             ON CONFLICT (site) DO UPDATE SET inputs = excluded.inputs, record = excluded.record",
            params![site, inputs, ledger::to_json(record)?],
        )?;
        Ok(())
    }

    /// A site's record; None where none was worked out.
    pub fn record(&self, site: &str) -> Result<Option<Value>, StoreError> {
        let mut statement = self
            .conn
            .prepare("SELECT record FROM records WHERE site = ?1")?;
        let text: Option<String> = statement.query_row([site], |row| row.get(0)).optional()?;
        text.map(|t| serde_json::from_str(&t))
            .transpose()
            .map_err(StoreError::Json)
    }
}
