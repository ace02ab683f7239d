//! A site's visits and records as they are, gaps among them, for those that pass them on.

use super::error::StoreError;
use super::{Store, batches};
use crate::gaps::{self, Dated, VisitFacts};
use crate::report::{HalfYear, Kind};
use crate::visit::combine;
use chrono::NaiveDate;
use forecast::series::Count;
use std::collections::{BTreeMap, BTreeSet};

/// All that the store has of a site.
#[derive(Debug, Clone, Default)]
pub(crate) struct SiteContent {
    pub(crate) visits: BTreeMap<NaiveDate, VisitFacts>,
    /// Half-years that are taken as not visited.
    pub(crate) gaps: BTreeSet<HalfYear>,
    /// What rows say, by species and date, rows of one day added up.
    pub(crate) counts: BTreeMap<String, BTreeMap<NaiveDate, Count>>,
    /// Daily mean, deg C.
    pub(crate) temperature: Vec<(NaiveDate, f64)>,
}

impl Store {
    /// All that the store has of a site.
    pub(crate) fn content(&self, site: &str) -> Result<SiteContent, StoreError> {
        let (mut dated, mut counts) = (Vec::new(), BTreeMap::new());
        // Keeps a load from removing files while they are read.
        let reading = self.conn.unchecked_transaction()?;
        for batch in self.batches()? {
            match batch.kind {
                Kind::Temperature => {}
                Kind::Visits => dated.push(Dated::Visits(self.days(&batch)?)),
                Kind::Counts => {
                    dated.push(Dated::Counts(self.days(&batch)?, batch.fully_reported));
                    batches::records(&self.folder, &batch, site, |date, species, count| {
                        add(&mut counts, site, date, species, count)
                    })?;
                }
            }
        }
        let gaps = self.gaps()?.into_iter().filter(|g| g.site == site);
        let content = SiteContent {
            visits: gaps::visits(&dated, site),
            gaps: gaps.map(|g| g.half).collect(),
            counts,
            temperature: self.temperature(site)?,
        };
        reading.commit()?;
        Ok(content)
    }
}

fn add(
    counts: &mut BTreeMap<String, BTreeMap<NaiveDate, Count>>,
    site: &str,
    date: NaiveDate,
    species: &str,
    count: Count,
) -> Result<(), StoreError> {
    if !counts.contains_key(species) {
        counts.insert(species.to_owned(), BTreeMap::new());
    }
    if let Some(days) = counts.get_mut(species) {
        let known = days.entry(date).or_insert(Count::Unknown);
        *known = combine(*known, count).ok_or_else(|| StoreError::TooManyBirds {
            species: species.to_owned(),
            site: site.to_owned(),
            date,
        })?;
    }
    Ok(())
}
