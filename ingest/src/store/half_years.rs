//! What was decided of half-years, as the ledger keeps it.

use super::Store;
use super::error::StoreError;
use crate::half_years::{Decision, Decisions};
use crate::report::HalfYear;
use chrono::{DateTime, SecondsFormat, Utc};
use rusqlite::types::Type;
use rusqlite::{Row, Transaction, params};

impl Store {
    /// The decisions in force, those of one load left aside.
    pub(crate) fn decisions(&self, except: Option<DateTime<Utc>>) -> Result<Decisions, StoreError> {
        let mut statement = self.conn.prepare(
            "SELECT site, year, half, gap, decided_at FROM half_years \
             WHERE decided_at IS NOT ?1 ORDER BY rowid",
        )?;
        let rows = statement.query_map([except.map(stamp)], decision)?;
        // of several decisions on one half-year the last stays
        let by_place = |d: Decision| ((d.site.clone(), d.half), d);
        Ok(rows.map(|d| d.map(by_place)).collect::<Result<_, _>>()?)
    }
}

fn decision(row: &Row<'_>) -> rusqlite::Result<Decision> {
    let at: String = row.get(4)?;
    let at = DateTime::parse_from_rfc3339(&at)
        .map_err(|e| rusqlite::Error::FromSqlConversionFailure(4, Type::Text, Box::new(e)))?;
    let half = HalfYear {
        year: row.get(1)?,
        half: row.get(2)?,
    };
    Ok(Decision {
        site: row.get(0)?,
        half,
        gap: row.get(3)?,
        decided_at: at.to_utc(),
    })
}

/// In order of time also as text.
pub(super) fn stamp(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Nanos, true)
}

/// Forgets what a load decided.
pub(super) fn forget(tx: &Transaction<'_>, load: DateTime<Utc>) -> Result<(), StoreError> {
    tx.execute(
        "DELETE FROM half_years WHERE decided_at = ?1",
        [stamp(load)],
    )?;
    Ok(())
}

pub(super) fn insert(tx: &Transaction<'_>, decisions: &[Decision]) -> Result<(), StoreError> {
    for d in decisions {
        tx.execute(
            "INSERT OR REPLACE INTO half_years (site, year, half, gap, decided_at) \
             VALUES (?1, ?2, ?3, ?4, ?5)",
            params![d.site, d.half.year, d.half.half, d.gap, stamp(d.decided_at)],
        )?;
    }
    Ok(())
}
