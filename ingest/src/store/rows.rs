//! Every accepted row of a counts source that is of one species, in the order of its file.

use super::Store;
use super::batches::{Columns, count_of, damaged};
use super::error::StoreError;
use super::ledger::BatchRow;
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
        let mut dates: BTreeMap<String, BTreeSet<NaiveDate>> = BTreeMap::new();
        for batch in self.batches()? {
            for (site, days) in self.days(&batch)? {
                dates.entry(site).or_default().extend(days.into_keys());
            }
        }
        Ok(dates)
    }

    /// Hands over each row of a counts batch.
    pub(crate) fn each_row(
        &self,
        batch: &BatchRow,
        mut take: impl FnMut(StoredRow<'_>),
    ) -> Result<(), StoreError> {
        let wanted = ["line", "date", "site", "species", "kind", "number"];
        let columns = Columns::read(&self.folder, batch, &wanted)?;
        let numbers = columns.column("number", Column::u32)?;
        let counts = columns.texts("kind")?.iter().zip(numbers.iter());
        let lines = columns.column("line", Column::u32)?.iter();
        let names = columns
            .texts("site")?
            .iter()
            .zip(columns.texts("species")?.iter());
        let dated = columns.dates()?.into_iter().zip(lines);
        for (((date, line), (site, species)), (kind, number)) in dated.zip(names).zip(counts) {
            let count = kind.and_then(|kind| count_of(kind, number));
            if species.is_none() || count == Some(Count::Unknown) {
                continue; // birds left undecided, and what refused rows leave unknown
            }
            let whole = || Some((line?, site?, species?, count?));
            let (line, site, species, count) =
                whole().ok_or_else(|| damaged(batch, "a row without a count"))?;
            take(StoredRow {
                line,
                date,
                site,
                species,
                count,
            });
        }
        Ok(())
    }
}
