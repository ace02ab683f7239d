//! What a batch says to the questions that go over all sites.

use super::swapped::{self, Block};
use crate::store::{BatchRow, Store, StoreError, StoredRow};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Days with finds that are told apart; more say no more.
pub(super) const DAYS_TOLD: usize = 50;

/// What a batch of counts holds, as far as those questions go.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct OfBatch {
    /// Rows whose date is out of order.
    pub(super) odd: Vec<OddBlock>,
    /// Days with finds, the first [`DAYS_TOLD`] of them.
    pub(super) days: BTreeSet<NaiveDate>,
    /// The only day of each species; None where it was found on several.
    pub(super) names: BTreeMap<String, Option<OneDay>>,
}

/// Rows that stand together, and the date that would fit in their place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct OddBlock {
    pub(super) block: Block,
    pub(super) swapped: NaiveDate,
}

/// The one day on which a species was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct OneDay {
    pub(super) date: NaiveDate,
    /// Sites in the order of their first row.
    pub(super) sites: Vec<AtSite>,
}

/// A site's rows of that day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct AtSite {
    pub(super) site: String,
    /// The first row's.
    pub(super) line: u32,
    pub(super) rows: u32,
}

impl OfBatch {
    /// Goes once over the rows, in the order of their file.
    pub(super) fn gather(store: &Store, batch: &BatchRow) -> Result<Self, StoreError> {
        let mut blocks: Vec<Block> = Vec::new();
        let mut found = OfBatch::default();
        store.each_row(batch, |row| {
            match blocks.last_mut() {
                Some(block) if block.date == row.date => block.rows += 1,
                _ => blocks.push(Block {
                    date: row.date,
                    line: row.line,
                    rows: 1,
                }),
            }
            if row.count.found() == Some(true) {
                found.take(row);
            }
        })?;
        found.odd = swapped::odd_blocks(&blocks);
        Ok(found)
    }

    fn take(&mut self, row: StoredRow<'_>) {
        if self.days.len() < DAYS_TOLD {
            self.days.insert(row.date);
        }
        let day = OneDay {
            date: row.date,
            sites: Vec::new(),
        };
        if !self.names.contains_key(row.species) {
            self.names.insert(row.species.to_owned(), Some(day));
        }
        let Some(day) = self.names.get_mut(row.species) else {
            return;
        };
        match day {
            Some(one) if one.date == row.date => one.add(row.site, row.line, 1),
            _ => *day = None,
        }
    }
}

impl OneDay {
    /// Adds rows of the day.
    pub(super) fn add(&mut self, site: &str, line: u32, rows: u32) {
        match self.sites.iter_mut().find(|at| at.site == site) {
            Some(at) => at.rows += rows,
            None => self.sites.push(AtSite {
                site: site.to_owned(),
                line,
                rows,
            }),
        }
    }
}
