//! Forecasts as they were issued, and how often such forecasts came true.

use super::StoreError;
use super::{Store, ledger};
use chrono::{DateTime, NaiveDate, SecondsFormat, Utc};
use rusqlite::{OptionalExtension, Row, params};
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
    /// Probability of at least one in 1, 2, ... standard visits: what the forecast is held to
    /// once the visits of the week are known.
    pub by_visits: Vec<f64>,
}

/// What forecasts were issued from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IssuedFrom {
    /// Site id.
    pub site: String,
    /// Fingerprint of the history behind them.
    pub inputs: String,
    /// The last visit that the history held; None where it held none.
    pub last_visit: Option<NaiveDate>,
    /// When.
    pub issued_at: DateTime<Utc>,
}

impl Store {
    /// Keeps what was issued; what is kept already from the same history stays as it was.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the ledger cannot be written.
    pub fn keep_issued(
        &mut self,
        from: &IssuedFrom,
        chances: &[IssuedChance],
    ) -> Result<(), StoreError> {
        let issued_at = from.issued_at.to_rfc3339_opts(SecondsFormat::Secs, true);
        let last_visit = from.last_visit.map(|d| d.to_string());
        let tx = self.conn.transaction()?;
        for c in chances {
            tx.execute(
                "INSERT OR IGNORE INTO issued (site, species, monday, inputs, issued_at, \
                 visits_assumed, chance_visit, chance_week, last_visit, chances) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
                params![
                    from.site,
                    c.species,
                    c.monday.to_string(),
                    from.inputs,
                    issued_at,
                    c.visits_assumed,
                    c.chance_visit,
                    c.chance_week,
                    last_visit,
                    ledger::to_json(&c.by_visits)?,
                ],
            )?;
        }
        tx.commit()?;
        Ok(())
    }

    /// For each species and week of a site the last forecast whose history held no visit of the
    /// week or later, in the order of weeks: whatever was issued from a history that knew a part
    /// of its week was no forecast of it.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the ledger cannot be read.
    pub fn issued_beforehand(&self, site: &str) -> Result<Vec<IssuedChance>, StoreError> {
        let mut statement = self.conn.prepare(
            "SELECT species, monday, visits_assumed, chance_visit, chance_week, chances FROM ( \
                 SELECT *, ROW_NUMBER() OVER (PARTITION BY species, monday \
                     ORDER BY issued_at DESC, rowid DESC) AS place \
                 FROM issued WHERE site = ?1 AND chances <> '[]' \
                     AND (last_visit IS NULL OR last_visit < monday)) \
             WHERE place = 1 ORDER BY monday, species",
        )?;
        let rows = statement.query_map([site], |row| {
            Ok(IssuedChance {
                species: row.get(0)?,
                monday: parsed(row, 1, |t| t.parse::<NaiveDate>())?,
                visits_assumed: row.get(2)?,
                chance_visit: row.get(3)?,
                chance_week: row.get(4)?,
                by_visits: parsed(row, 5, |t| serde_json::from_str(t))?,
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

fn parsed<T, E: std::error::Error + Send + Sync + 'static>(
    row: &Row<'_>,
    column: usize,
    parse: impl FnOnce(&str) -> Result<T, E>,
) -> rusqlite::Result<T> {
    let text: String = row.get(column)?;
    let wrong = |e| {
        let text = rusqlite::types::Type::Text;
        rusqlite::Error::FromSqlConversionFailure(column, text, Box::new(e))
    };
    parse(&text).map_err(wrong)
}
