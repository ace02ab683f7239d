//! Answers to second looks, who found a record, and where questions begin.

use super::blot::Blot;
use super::columns::Columns;
use super::erasing::OBSERVER;
use super::error::StoreError;
use super::{Store, ledger};
use crate::read::text::sha256_hex;
use crate::report::Kind;
use crate::source::observers::PARTS;
use chrono::{DateTime, NaiveDate, SecondsFormat, TimeZone};
use forecast::series::Count;
use polars::prelude::Column;
use rusqlite::{Connection, OptionalExtension, Row, params};
use serde::Serialize;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// Letters of a record's fingerprint: short enough to type, long enough for a million records.
const LETTERS: usize = 10;

/// A record by what it says.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct RecordKey {
    /// Site id.
    pub site: String,
    /// Local date.
    pub date: NaiveDate,
    /// Scientific name.
    pub species: String,
    /// The count in words, as [`said`] puts it.
    pub said: String,
}

/// A count in words.
pub fn said(count: Count) -> String {
    match count {
        Count::Exactly(n) => n.to_string(),
        Count::AtLeast(n) => format!("at least {n}"),
        Count::About(n) => format!("about {n}"),
        Count::Present => "present".to_owned(),
        Count::Unknown => "unknown".to_owned(),
    }
}

impl RecordKey {
    /// A record of a site.
    pub fn new(site: &str, date: NaiveDate, species: &str, count: Count) -> Self {
        RecordKey {
            site: site.to_owned(),
            date,
            species: species.to_owned(),
            said: said(count),
        }
    }

    /// What it goes by in commands and answers.
    pub fn fingerprint(&self) -> String {
        let RecordKey {
            site,
            date,
            species,
            said,
        } = self;
        let whole = sha256_hex(format!("{site}\n{date}\n{species}\n{said}").as_bytes());
        whole.chars().take(LETTERS).collect()
    }
}

/// What came of a second look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// It stands as it is.
    Accepted,
    /// It was put right in the file.
    Changed,
    /// Its finder took it back; it is used no longer.
    Withdrawn,
}

impl Verdict {
    /// As the ledger writes it.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Accepted => "accepted",
            Verdict::Changed => "changed",
            Verdict::Withdrawn => "withdrawn",
        }
    }

    fn of(word: &str) -> Self {
        match word {
            "accepted" => Verdict::Accepted,
            "changed" => Verdict::Changed,
            _ => Verdict::Withdrawn,
        }
    }
}

/// An answer to be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewAnswer {
    /// What came of it.
    pub verdict: Verdict,
    /// What the reviewer says.
    pub note: String,
    /// What it rests on: a description, a picture, a witness.
    pub evidence: String,
    /// When it was given.
    pub answered_on: NaiveDate,
}

/// An answer as kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Answer {
    /// Fingerprint of the record.
    pub record: String,
    /// The record.
    #[serde(flatten)]
    pub key: RecordKey,
    /// What came of it.
    pub verdict: Verdict,
    /// What the reviewer says; empty where nothing.
    pub note: String,
    /// What it rests on; empty where nothing is told.
    pub evidence: String,
    /// When it was given.
    pub answered_on: NaiveDate,
    /// When it was written down: RFC 3339, UTC.
    pub kept_at: String,
}

/// A row behind a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundBy {
    /// Id of the source.
    pub source: String,
    /// Its line.
    pub line: u64,
    /// Names kept of its observers.
    pub observers: Vec<String>,
}

const ANSWER: &str = "record, site, date, species, said, verdict, note, evidence, answered_on, \
    kept_at";

impl Store {
    /// Adds an answer; earlier ones stay. `now` is by the clocks of the record's site.
    ///
    /// # Errors
    ///
    /// [`StoreError::AnswerDay`] where it is dated before its record or after today,
    /// [`StoreError`] where the ledger cannot be written.
    pub fn keep_answer<Z: TimeZone>(
        &mut self,
        key: &RecordKey,
        answer: &NewAnswer,
        now: DateTime<Z>,
    ) -> Result<(), StoreError> {
        let today = now.date_naive();
        // a record dated in the future is a slip, which an answer of today may put right
        if !(key.date.min(today)..=today).contains(&answer.answered_on) {
            return Err(StoreError::AnswerDay {
                answer: answer.answered_on,
                record: key.date,
                today,
            });
        }
        self.conn.execute(
            &format!(
                "INSERT INTO second_look_answers ({ANSWER}) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)"
            ),
            params![
                key.fingerprint(),
                key.site,
                key.date.to_string(),
                key.species,
                key.said,
                answer.verdict.word(),
                answer.note,
                answer.evidence,
                answer.answered_on.to_string(),
                now.to_utc().to_rfc3339_opts(SecondsFormat::Secs, true),
            ],
        )?;
        Ok(())
    }

    /// Every answer ever given, the first one first.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the ledger cannot be read.
    pub fn answers(&self) -> Result<Vec<Answer>, StoreError> {
        let query = format!("SELECT {ANSWER} FROM second_look_answers ORDER BY id");
        let mut statement = self.conn.prepare(&query)?;
        let rows = statement.query_map([], answer)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The last answer about each record, by fingerprint.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the ledger cannot be read.
    pub fn last_answers(&self) -> Result<BTreeMap<String, Answer>, StoreError> {
        let all = self.answers()?.into_iter();
        Ok(all.map(|a| (a.record.clone(), a)).collect())
    }

    /// Records of a site whose last answer withdrew them.
    pub(super) fn withdrawn(&self, site: &str) -> Result<Vec<RecordKey>, StoreError> {
        let last = self.last_answers()?.into_values();
        let withdrawn = last.filter(|a| a.verdict == Verdict::Withdrawn && a.key.site == site);
        Ok(withdrawn.map(|a| a.key).collect())
    }

    /// The rows in use that tell of a species at a site on a date.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the store is damaged.
    pub fn found_by(
        &self,
        site: &str,
        date: NaiveDate,
        species: &str,
    ) -> Result<Vec<FoundBy>, StoreError> {
        let mut found = Vec::new();
        for batch in self.batches()?.iter().filter(|b| b.kind == Kind::Counts) {
            let place = self.place(batch, site)?;
            let names = ["line", "date", "site", "species", OBSERVER];
            let Some(columns) = Columns::at(&self.folder, batch, &names, place)? else {
                continue;
            };
            let lines = columns.column("line", Column::u32)?.iter();
            let whose = columns
                .texts("site")?
                .iter()
                .zip(columns.texts("species")?.iter());
            let rows = columns.dates()?.into_iter().zip(lines).zip(whose);
            for (((on, line), of), names) in rows.zip(columns.texts(OBSERVER)?.iter()) {
                if on != date || of != (Some(site), Some(species)) {
                    continue;
                }
                let names = names.map(|n| n.split(PARTS).map(str::to_owned).collect());
                found.push(FoundBy {
                    source: batch.source.clone(),
                    line: u64::from(line.unwrap_or_default()),
                    observers: names.unwrap_or_default(),
                });
            }
        }
        Ok(found)
    }

    /// Sites, dates and species that a batch tells of and the batch before it did not, or
    /// otherwise. None where there is no such batch, or its rows are kept no longer.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the store is damaged.
    pub fn new_in_batch(&self, batch: i64) -> Result<Option<BTreeSet<ToldOf>>, StoreError> {
        let Some(now) = self.rows_of(batch)? else {
            return Ok(None);
        };
        let query = "SELECT replaces FROM batches WHERE id = ?1";
        let before: Option<i64> = self.conn.query_row(query, [batch], |row| row.get(0))?;
        let before = before.map(|b| self.rows_of(b)).transpose()?.flatten();
        let before = before.unwrap_or_default();
        let new = now.into_iter().filter(|row| !before.contains(row));
        Ok(Some(
            new.map(|(site, date, species, _)| (site, date, species))
                .collect(),
        ))
    }

    fn rows_of(&self, batch: i64) -> Result<Option<BTreeSet<StatedRow>>, StoreError> {
        let columns = ledger::BATCH_COLUMNS;
        let query = format!("SELECT {columns} FROM batches WHERE id = ?1 AND parquet <> ''");
        let row = self.conn.query_row(&query, [batch], ledger::batch);
        let Some(batch) = row.optional()? else {
            return Ok(None);
        };
        let mut rows = BTreeSet::new();
        if batch.kind == Kind::Counts {
            self.each_row(&batch, |row| {
                let (site, species) = (row.site.to_owned(), row.species.to_owned());
                rows.insert((site, row.date, species, said(row.count)));
            })?;
        }
        Ok(Some(rows))
    }

    /// Replaces what a site's past records scored, worked out from the history of that
    /// fingerprint.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the ledger cannot be written.
    pub fn save_scores(
        &mut self,
        site: &str,
        inputs: &str,
        scores: &Value,
    ) -> Result<(), StoreError> {
        self.conn.execute(
            "INSERT OR REPLACE INTO second_look_scores (site, inputs, scores) VALUES (?1, ?2, ?3)",
            params![site, inputs, ledger::to_json(scores)?],
        )?;
        Ok(())
    }

    /// What a site's past records scored; None where that was never worked out.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the ledger cannot be read.
    pub fn scores(&self, site: &str) -> Result<Option<Value>, StoreError> {
        let query = "SELECT scores FROM second_look_scores WHERE site = ?1";
        let mut statement = self.conn.prepare(query)?;
        Ok(statement
            .query_row([site], |row| ledger::json(row, 0))
            .optional()?)
    }
}

/// Site id, date and scientific name that a row tells of.
pub type ToldOf = (String, NaiveDate, String);

/// Site, date, species and count of a row.
type StatedRow = (String, NaiveDate, String, String);

fn answer(row: &Row<'_>) -> rusqlite::Result<Answer> {
    Ok(Answer {
        record: row.get(0)?,
        key: RecordKey {
            site: row.get(1)?,
            date: date(row, 2)?,
            species: row.get(3)?,
            said: row.get(4)?,
        },
        verdict: Verdict::of(&row.get::<_, String>(5)?),
        note: row.get(6)?,
        evidence: row.get(7)?,
        answered_on: date(row, 8)?,
        kept_at: row.get(9)?,
    })
}

fn date(row: &Row<'_>, column: usize) -> rusqlite::Result<NaiveDate> {
    let text: String = row.get(column)?;
    let wrong = |e| {
        let text = rusqlite::types::Type::Text;
        rusqlite::Error::FromSqlConversionFailure(column, text, Box::new(e))
    };
    text.parse().map_err(wrong)
}

/// Takes names out of what reviewers wrote; how many texts had any. A ledger of an older version
/// has no such table.
pub(super) fn erase(conn: &Connection, blot: &Blot) -> Result<u64, StoreError> {
    let there = "SELECT count(*) FROM sqlite_master WHERE name = 'second_look_answers'";
    if conn.query_row(there, [], |row| row.get::<_, i64>(0))? == 0 {
        return Ok(0);
    }
    let mut texts = 0;
    for column in ["note", "evidence"] {
        let query = format!("SELECT id, {column} FROM second_look_answers");
        let mut statement = conn.prepare(&query)?;
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        let rows: Vec<(i64, String)> = rows.collect::<Result<_, _>>()?;
        for (id, text) in rows {
            if let Some(blotted) = blot.text(&text) {
                let update = format!("UPDATE second_look_answers SET {column} = ?2 WHERE id = ?1");
                conn.execute(&update, params![id, blotted])?;
                texts += 1;
            }
        }
    }
    Ok(texts)
}
