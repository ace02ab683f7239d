//! A site's visits and records as they are, gaps among them, for those that pass them on.

use super::Store;
use super::error::StoreError;
use crate::gaps::{self, Dated, VisitFacts};
use crate::overlap::Merging;
use crate::report::HalfYear;
use chrono::NaiveDate;
use forecast::series::Count;
use std::collections::{BTreeMap, BTreeSet};

/// All that the store has of a site.
#[derive(Debug, Clone, Default)]
pub(crate) struct SiteContent {
    pub(crate) visits: BTreeMap<NaiveDate, VisitFacts>,
    /// Half-years that are taken as not visited.
    pub(crate) gaps: BTreeSet<HalfYear>,
    /// What is to be said, by species and date: counts, and zeros that no full reporting implies.
    pub(crate) counts: BTreeMap<String, BTreeMap<NaiveDate, Count>>,
    /// Daily mean, deg C.
    pub(crate) temperature: Vec<(NaiveDate, f64)>,
}

impl Store {
    /// All that the store has of a site's standard visits.
    pub(crate) fn content(&self, site: &str, merging: Merging) -> Result<SiteContent, StoreError> {
        let mut dated = Vec::new();
        // Keeps a load from removing files while they are read.
        let reading = self.conn.unchecked_transaction()?;
        for batch in self.batches()? {
            let days = self.days_of_site(&batch, site)?;
            let rule = batch.report.observers;
            dated.extend(Dated::of(batch.kind, days, rule, batch.fully_reported));
        }
        let merging = merging.standard();
        let mut visits = gaps::visits(&dated, site, merging);
        // As a table of visits they would be taken for standard ones.
        visits.retain(|_, facts| facts.standard);
        let species = self.counted(site, &visits, merging)?.species;
        let counts = said(species, &mut visits);
        let gaps = self.gaps()?.into_iter().filter(|g| g.site == site);
        let content = SiteContent {
            visits,
            gaps: gaps.map(|g| g.half).collect(),
            counts,
            temperature: self.temperature(site)?,
        };
        reading.commit()?;
        Ok(content)
    }
}

/// What must be said of each species and visit: zeros are understood where a visit is fully
/// reported. One on which a species is unknown all the same is not passed on as such, and its
/// zeros are said.
fn said(
    species: BTreeMap<String, Vec<Count>>,
    visits: &mut BTreeMap<NaiveDate, VisitFacts>,
) -> BTreeMap<String, BTreeMap<NaiveDate, Count>> {
    for (place, facts) in visits.values_mut().enumerate() {
        let unknown = |counts: &Vec<Count>| counts.get(place) == Some(&Count::Unknown);
        facts.fully_reported &= !species.values().any(unknown);
    }
    let needed = |facts: &VisitFacts, count: &Count| match count {
        Count::Unknown => false,
        Count::Exactly(0) => !facts.fully_reported,
        _ => true,
    };
    let of_species = |(name, counts): (String, Vec<Count>)| {
        let dated = visits.iter().zip(counts);
        let dated = dated.filter(|((_, facts), count)| needed(facts, count));
        (
            name,
            dated.map(|((date, _), count)| (*date, count)).collect(),
        )
    };
    species.into_iter().map(of_species).collect()
}
