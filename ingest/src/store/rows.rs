//! Every accepted row of a counts source that is of one species, in the order of its file.

use super::Store;
use super::batches::count_of;
use super::columns::{Columns, damaged};
use super::error::StoreError;
use super::ledger::BatchRow;
use super::summed::Where;
use chrono::NaiveDate;
use forecast::series::Count;
use polars::prelude::Column;
use std::collections::{BTreeMap, BTreeSet};

/// An accepted row of a counts source, of one species.
#[derive(Debug, Clone, Copy)]
pub(crate) struct StoredRow<'a> {
    /// Its line in the file.
    pub(crate) line: u32,
    pub(crate) date: NaiveDate,
    /// Site id.
    pub(crate) site: &'a str,
    /// Scientific name.
    pub(crate) species: &'a str,
    pub(crate) count: Count,
}

impl Store {
    /// Days on which a site was visited, by site id, those of gaps among them.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the store is damaged.
    pub fn visit_dates(&self) -> Result<BTreeMap<String, BTreeSet<NaiveDate>>, StoreError> {
        let mut dates: BTreeMap<String, Vec<NaiveDate>> = BTreeMap::new();
        for batch in self.batches()? {
            for (site, more) in self.dates(&batch)? {
                dates.entry(site).or_default().extend(more);
            }
        }
        // a set of many at once is made far faster than one after another
        let sets = dates
            .into_iter()
            .map(|(site, d)| (site, BTreeSet::from_iter(d)));
        Ok(sets.collect())
    }

    /// Hands over each row of a counts batch, in the order of their lines.
    pub(crate) fn each_row(
        &self,
        batch: &BatchRow,
        take: impl FnMut(StoredRow<'_>),
    ) -> Result<(), StoreError> {
        self.each_row_at(batch, Where::Anywhere, take)
    }

    /// Hands over each row of a site in a counts batch, in the order of their lines.
    pub(crate) fn each_row_of(
        &self,
        batch: &BatchRow,
        site: &str,
        take: impl FnMut(StoredRow<'_>),
    ) -> Result<(), StoreError> {
        self.each_row_at(batch, self.place(batch, site)?, take)
    }

    fn each_row_at(
        &self,
        batch: &BatchRow,
        place: Where,
        take: impl FnMut(StoredRow<'_>),
    ) -> Result<(), StoreError> {
        let read = ["line", "date", "site", "species", "kind", "number"];
        let Some(columns) = Columns::at(&self.folder, batch, &read, place)? else {
            return Ok(());
        };
        let numbers = columns.column("number", Column::u32)?;
        let counts = columns.texts("kind")?.iter().zip(numbers.iter());
        let lines = columns.column("line", Column::u32)?.iter();
        let (sites, species) = (columns.texts("site")?, columns.texts("species")?);
        let names = sites.iter().zip(species.iter());
        let rows = columns.dates()?.into_iter().zip(lines);
        let rows = rows.zip(names).zip(counts);
        let mut wanted = Vec::with_capacity(columns.rows());
        for (((date, line), (site, species)), (kind, number)) in rows {
            let count = kind.and_then(|kind| count_of(kind, number));
            if species.is_none() || count == Some(Count::Unknown) {
                continue; // birds left undecided, and what refused rows leave unknown
            }
            let whole = || Some((line?, site?, species?, count?));
            let (line, site, species, count) =
                whole().ok_or_else(|| damaged(batch, "a row without a count"))?;
            wanted.push(StoredRow {
                line,
                date,
                site,
                species,
                count,
            });
        }
        // they stand site after site; a stable sort is fast on such runs
        wanted.sort_by_key(|row| row.line);
        wanted.into_iter().for_each(take);
        Ok(())
    }
}
