//! The only bridge from the store to the models: a site's visits and counts as series.

use super::error::StoreError;
use super::standard::{log_ratio, median};
use super::{Store, batches};
use crate::gaps::{self, Dated, VisitFacts};
use crate::read::text::sha256_hex;
use crate::report::{HalfYear, Kind};
use crate::visit::combine;
use chrono::NaiveDate;
use config::settings::{Site, Workspace};
use forecast::series::{Count, CountSeries, Visit};
use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

/// All that was counted at a site, without its gaps.
#[derive(Debug, Clone)]
pub struct SiteHistory {
    /// Site id.
    pub site: String,
    /// Visits in date order, one a date. The effort ratio is that to `standard_effort`; a visit
    /// without a recorded effort is taken as a standard one (ratio 0).
    pub visits: Arc<[Visit]>,
    /// Series by scientific name, of every species with a record at the site. On a fully reported
    /// visit a species without a row was not found; on any other visit it is unknown.
    pub species: BTreeMap<String, CountSeries>,
    /// The series of a species without any record at the site.
    pub unrecorded: CountSeries,
    /// Visits that are not fully reported.
    pub partial_visits: usize,
    /// Effort of a standard visit in the unit of the files: the site's own setting, else the
    /// median of the recorded efforts. None where no effort is recorded.
    pub standard_effort: Option<f64>,
    /// The standard effort is the site's own setting.
    pub(super) standard_is_stated: bool,
    /// Recorded effort of each visit, in the unit of the files.
    pub(super) efforts: Vec<Option<f64>>,
    /// First visit.
    pub first_visit: Option<NaiveDate>,
    /// Last visit.
    pub last_visit: Option<NaiveDate>,
    /// Changes whenever the visits, the counts or the standard effort may have changed.
    pub fingerprint: String,
}

/// A site's visits by date, without gaps.
type Visits = BTreeMap<NaiveDate, VisitFacts>;

impl Store {
    /// A site's history. Rows of one species on one date are added up.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the workspace has no such site or the store is damaged.
    pub fn history(&self, workspace: &Workspace, site: &str) -> Result<SiteHistory, StoreError> {
        let site = settings(workspace, site)?;
        // Keeps a load from removing files between the reading of the ledger and of the batches.
        let reading = self.conn.unchecked_transaction()?;
        let visits = self.visits(&site.id)?;
        let efforts = visits.values().filter_map(|v| v.effort);
        let recorded = median(efforts.collect());
        let standard = recorded.map(|median| site.standard_effort.unwrap_or(median));
        let counts = self.counts(&site.id, &visits)?;
        let fingerprint = self.fingerprint(&site.id, standard)?;
        reading.commit()?;
        history(site, &visits, counts, standard, fingerprint)
    }

    /// Date of a site's last visit, gaps left out.
    pub fn last_visit(&self, site: &str) -> Result<Option<NaiveDate>, StoreError> {
        Ok(self.visits(site)?.keys().next_back().copied())
    }

    /// Daily mean temperatures that hold for a site, deg C, in date order. Those of the site
    /// itself go before those of all sites, and earlier sources before later ones.
    pub fn temperature(&self, site: &str) -> Result<Vec<(NaiveDate, f64)>, StoreError> {
        let mut means: BTreeMap<NaiveDate, (f64, bool)> = BTreeMap::new();
        for batch in self
            .batches()?
            .iter()
            .filter(|b| b.kind == Kind::Temperature)
        {
            for (date, mean_c, own) in batches::temperatures(&self.folder, batch, site)? {
                let known = means.entry(date).or_insert((mean_c, own));
                if own && !known.1 {
                    *known = (mean_c, own);
                }
            }
        }
        Ok(means
            .into_iter()
            .map(|(date, (mean_c, _))| (date, mean_c))
            .collect())
    }

    fn visits(&self, site: &str) -> Result<Visits, StoreError> {
        let mut dated = Vec::new();
        for batch in self.batches()? {
            let days = self.days(&batch)?;
            dated.extend(Dated::of(batch.kind, days, batch.fully_reported));
        }
        let gaps: HashSet<HalfYear> = self
            .gaps()?
            .into_iter()
            .filter(|g| g.site == site)
            .map(|g| g.half)
            .collect();
        let mut visits = gaps::visits(&dated, site);
        visits.retain(|date, _| !gaps.contains(&HalfYear::of(*date)));
        Ok(visits)
    }

    /// Counts by species, one for each visit, in date order.
    fn counts(
        &self,
        site: &str,
        visits: &Visits,
    ) -> Result<BTreeMap<String, Vec<Count>>, StoreError> {
        let places: BTreeMap<NaiveDate, usize> = visits.keys().copied().zip(0..).collect();
        let unrecorded = unrecorded(visits);
        // Unknown until a row tells: `combine` takes the other count then.
        let mut counts: BTreeMap<String, Vec<Count>> = BTreeMap::new();
        for batch in self.batches()?.iter().filter(|b| b.kind == Kind::Counts) {
            batches::records(&self.folder, batch, site, |date, species, count| {
                let Some(&place) = places.get(&date) else {
                    return Ok(());
                };
                if !counts.contains_key(species) {
                    counts.insert(species.to_owned(), unrecorded.clone());
                }
                let Some(known) = counts.get_mut(species).map(|c| &mut c[place]) else {
                    return Ok(());
                };
                *known = combine(*known, count).ok_or_else(|| StoreError::TooManyBirds {
                    species: species.to_owned(),
                    site: site.to_owned(),
                    date,
                })?;
                Ok(())
            })?;
        }
        Ok(counts)
    }

    fn fingerprint(&self, site: &str, standard: Option<f64>) -> Result<String, StoreError> {
        let mut text = format!("{site} {standard:?}");
        for b in self
            .batches()?
            .iter()
            .filter(|b| b.kind != Kind::Temperature)
        {
            text += &format!(" {} {} {}", b.source, b.file_sha256, b.mapping_sha256);
        }
        // the same files may leave out other half-years than they did
        for gap in self.gaps()?.iter().filter(|g| g.site == site) {
            text += &format!(" {}", gap.half);
        }
        Ok(sha256_hex(text.as_bytes()))
    }
}

fn settings<'w>(workspace: &'w Workspace, site: &str) -> Result<&'w Site, StoreError> {
    workspace.site(site).ok_or_else(|| StoreError::UnknownSite {
        site: site.to_owned(),
        sites: workspace.sites.iter().map(|s| s.id.clone()).collect(),
    })
}

/// What each visit tells of a species without a row.
fn unrecorded(visits: &Visits) -> Vec<Count> {
    let zero = |v: &VisitFacts| {
        if v.fully_reported {
            Count::Exactly(0)
        } else {
            Count::Unknown
        }
    };
    visits.values().map(zero).collect()
}

fn history(
    site: &Site,
    facts: &Visits,
    counts: BTreeMap<String, Vec<Count>>,
    standard: Option<f64>,
    fingerprint: String,
) -> Result<SiteHistory, StoreError> {
    let visit = |(date, v): (&NaiveDate, &VisitFacts)| Visit {
        date: *date,
        log_effort_ratio: log_ratio(v.effort, standard),
    };
    let visits: Arc<[Visit]> = facts.iter().map(visit).collect();
    let series = |counts| {
        let made = CountSeries::new(visits.clone(), counts);
        made.map_err(|cause| StoreError::Series {
            site: site.id.clone(),
            cause,
        })
    };
    let mut species = BTreeMap::new();
    for (name, counts) in counts {
        species.insert(name, series(counts)?);
    }
    Ok(SiteHistory {
        site: site.id.clone(),
        species,
        unrecorded: series(unrecorded(facts))?,
        partial_visits: facts.values().filter(|v| !v.fully_reported).count(),
        standard_effort: standard,
        standard_is_stated: site.standard_effort.is_some(),
        efforts: facts.values().map(|v| v.effort).collect(),
        first_visit: visits.first().map(|v| v.date),
        last_visit: visits.last().map(|v| v.date),
        visits,
        fingerprint,
    })
}
