//! What was found where and when, gathered from the store.

use super::twice::{self, Twice};
use super::{Question, Suspect, is_counts};
use crate::store::{BatchRow, Store, StoreError, StoredRow};
use chrono::NaiveDate;
use forecast::series::Count;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// One species found at one site on one day.
#[derive(Debug, Clone, Copy)]
pub(super) struct Find {
    pub(super) date: NaiveDate,
    /// Birds counted; None where one row or more had no number.
    pub(super) birds: Option<u64>,
    /// Place among the sources, and the line of the day's first row.
    pub(super) source: usize,
    pub(super) line: u32,
    pub(super) rows: u32,
}

/// All finds of one species at one site, in date order, one a day.
#[derive(Debug)]
pub(super) struct Series {
    pub(super) site: String,
    pub(super) species: String,
    pub(super) finds: Vec<Find>,
}

/// Everything that was found.
#[derive(Default)]
pub(super) struct Found {
    series: Vec<Series>,
    /// Place of each site and species among the series.
    places: HashMap<String, HashMap<String, usize>>,
    pub(super) sources: Vec<String>,
    /// Days on which a site was visited.
    pub(super) visits: BTreeMap<String, BTreeSet<NaiveDate>>,
    /// Visits whose rows all stand more than once.
    pub(super) twice: Vec<Twice>,
}

impl Found {
    /// At all sites.
    pub(super) fn gather(store: &Store) -> Result<Self, StoreError> {
        let mut found = Found {
            visits: store.visit_dates()?,
            ..Found::default()
        };
        for batch in store.batches()? {
            if is_counts(batch.kind) {
                found.sources.push(batch.source.clone());
                store.each_row(&batch, |row| found.take(row))?;
            }
        }
        Ok(found.one_a_day())
    }

    /// At one site, of which the batches tell.
    pub(super) fn at(store: &Store, batches: &[&BatchRow], site: &str) -> Result<Self, StoreError> {
        let mut found = Found::default();
        for batch in batches {
            for (site, days) in store.days_of_site(batch, site)?.iter() {
                let visits = found.visits.entry(site.clone()).or_default();
                visits.extend(days.keys());
            }
            if is_counts(batch.kind) {
                found.sources.push(batch.source.clone());
                store.each_row_of(batch, site, |row| found.take(row))?;
            }
        }
        Ok(found.one_a_day())
    }

    fn one_a_day(mut self) -> Self {
        for series in &mut self.series {
            series.finds.sort_by_key(|f| (f.date, f.source, f.line));
        }
        self.twice = twice::visits(&self.series);
        for series in &mut self.series {
            one_a_day(&mut series.finds);
        }
        self
    }

    fn take(&mut self, row: StoredRow<'_>) {
        let source = self.sources.len() - 1;
        if row.count.found() == Some(true) {
            let place = self.place(row.site, row.species);
            self.series[place].finds.push(Find {
                date: row.date,
                birds: (row.count != Count::Present).then(|| u64::from(row.count.birds())),
                source,
                line: row.line,
                rows: 1,
            });
        }
    }

    fn place(&mut self, site: &str, species: &str) -> usize {
        if let Some(&place) = self.places.get(site).and_then(|s| s.get(species)) {
            return place;
        }
        let (site, species) = (site.to_owned(), species.to_owned());
        let of_site = self.places.entry(site.clone()).or_default();
        of_site.insert(species.clone(), self.series.len());
        let finds = Vec::new();
        self.series.push(Series {
            site,
            species,
            finds,
        });
        self.series.len() - 1
    }

    pub(super) fn series(&self) -> impl Iterator<Item = &Series> {
        self.series.iter()
    }

    /// The question about a find.
    pub(super) fn suspect(
        &self,
        question: Question,
        series: &Series,
        find: &Find,
        why: String,
    ) -> Suspect {
        Suspect {
            question,
            source: self.sources[find.source].clone(),
            line: u64::from(find.line),
            rows: u64::from(find.rows),
            site: Some(series.site.clone()),
            species: Some(series.species.clone()),
            date: find.date.to_string(),
            why,
        }
    }
}

/// Rows of one day, which stand together, become one find, which stands in the first of their lines.
fn one_a_day(finds: &mut Vec<Find>) {
    finds.dedup_by(|later, first| {
        let same = later.date == first.date;
        if same {
            first.birds = first.birds.zip(later.birds).map(|(a, b)| a + b);
            first.rows += later.rows;
        }
        same
    });
}
