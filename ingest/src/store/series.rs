//! The only bridge from the store to the models: a site's visits and counts as series.

use super::Store;
use super::counts::{Counted, Sighting, UndecidedBirds, Visits, unrecorded};
use super::error::StoreError;
use super::standard::{log_ratio, median};
use super::temperature::DayTemperature;
use super::withdrawn;
use crate::gaps::{self, Dated, VisitFacts};
use crate::overlap::Merging;
use crate::read::text::sha256_hex;
use crate::report::{HalfYear, Kind};
use chrono::NaiveDate;
use config::meaning::RecordRules;
use config::settings::{Site, Workspace};
use forecast::series::{CountSeries, Visit};
use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

/// All that was counted at a site, without its gaps.
#[derive(Debug, Clone)]
pub struct SiteHistory {
    /// Site id.
    pub site: String,
    /// Standard visits in date order, one a date (targeted ones too where the workspace uses
    /// them). The effort ratio is that to `standard_effort`; a visit
    /// without a recorded effort is taken as a standard one (ratio 0).
    pub visits: Arc<[Visit]>,
    /// Series by scientific name, of every species with a record at the site. On a fully reported
    /// visit a species without a row was not found; on any other visit it is unknown. A species
    /// of which a row was refused is unknown on that visit, or found at least as often as its
    /// other rows say.
    pub species: BTreeMap<String, CountSeries>,
    /// The series of a species without any record at the site.
    pub unrecorded: CountSeries,
    /// What was found on targeted visits, in date order: seen, and no part of any series.
    pub targeted: Vec<Sighting>,
    /// Birds left undecided between species, in date order, on visits of whatever purpose.
    pub undecided: Vec<UndecidedBirds>,
    /// Daily temperatures that hold for the site, in date order; the fingerprint leaves them out.
    pub temperature: Vec<DayTemperature>,
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
    /// Changes whenever the visits, the counts or the standard effort may have changed, or what was
    /// withdrawn of them.
    pub fingerprint: String,
}

impl Store {
    /// A site's history. Rows of one species on one date are added up, or merged as the source's
    /// rule for several observers says; what several sources tell of one visit, as the
    /// workspace's rule says.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the workspace has no such site or the store is damaged.
    pub fn history(&self, workspace: &Workspace, site: &str) -> Result<SiteHistory, StoreError> {
        let site = settings(workspace, site)?;
        let merging = Merging::from(&workspace.records);
        // Keeps a load from removing files between the reading of the ledger and of the batches.
        let reading = self.conn.unchecked_transaction()?;
        let visits = self.visits(&site.id, merging)?;
        let standard = visits.values().filter(|v| v.standard);
        let recorded = median(standard.filter_map(|v| v.effort).collect());
        let standard = recorded.map(|median| site.standard_effort.unwrap_or(median));
        let mut counted = self.counted(&site.id, &visits, merging)?;
        let withdrawn = self.withdrawn(&site.id)?;
        let left_out = withdrawn::leave_out(&mut counted, &visits, &withdrawn);
        let temperature = self.daily_temperature(&site.id)?;
        let fingerprint = self.fingerprint(&site.id, standard, merging, &left_out)?;
        reading.commit()?;
        let mut history = history(site, &visits, counted, standard, fingerprint)?;
        history.temperature = temperature;
        Ok(history)
    }

    /// Date of a site's last visit of whatever purpose, gaps left out.
    pub fn last_visit(&self, site: &str) -> Result<Option<NaiveDate>, StoreError> {
        let merging = Merging::from(&RecordRules::default()); // no rule takes a date away
        Ok(self.visits(site, merging)?.keys().next_back().copied())
    }

    fn visits(&self, site: &str, merging: Merging) -> Result<Visits, StoreError> {
        let mut dated = Vec::new();
        for batch in self.batches()? {
            let days = self.days_of_site(&batch, site)?;
            let rule = batch.report.observers;
            dated.extend(Dated::of(batch.kind, days, rule, batch.fully_reported));
        }
        let gaps: HashSet<HalfYear> = self
            .gaps()?
            .into_iter()
            .filter(|g| g.site == site)
            .map(|g| g.half)
            .collect();
        let mut visits = gaps::visits(&dated, site, merging);
        visits.retain(|date, _| !gaps.contains(&HalfYear::of(*date)));
        Ok(visits)
    }

    fn fingerprint(
        &self,
        site: &str,
        standard: Option<f64>,
        merging: Merging,
        left_out: &[String],
    ) -> Result<String, StoreError> {
        let mut text = format!("{site} {standard:?} {}", merging.use_targeted);
        let batches = self.batches()?;
        if batches.iter().filter(|b| b.kind == Kind::Counts).count() > 1 {
            text += &format!(" {:?}", merging.overlap);
        }
        for b in batches.iter().filter(|b| b.kind != Kind::Temperature) {
            text += &format!(" {} {} {}", b.source, b.file_sha256, b.mapping_sha256);
        }
        // the same files may leave out other half-years than they did
        for gap in self.gaps()?.iter().filter(|g| g.site == site) {
            text += &format!(" {}", gap.half);
        }
        let counts = sha256_hex(text.as_bytes());
        // by itself, so that a record withdrawn since is told from counts that changed
        Ok(match left_out {
            [] => counts,
            left_out => {
                let without = sha256_hex(left_out.join(" ").as_bytes());
                format!("{counts}{WITHOUT}{without}")
            }
        })
    }
}

/// Stands in a fingerprint between that of what was loaded and that of what was withdrawn of it.
const WITHOUT: char = '-';

impl SiteHistory {
    /// Was the same loaded at that fingerprint, so that what changed is that records were withdrawn,
    /// or put back?
    pub fn differs_by_withdrawals_alone(&self, fingerprint: &str) -> bool {
        let loaded = |f: &str| f.split(WITHOUT).next().map(str::to_owned);
        *fingerprint != self.fingerprint && loaded(fingerprint) == loaded(&self.fingerprint)
    }
}

fn settings<'w>(workspace: &'w Workspace, site: &str) -> Result<&'w Site, StoreError> {
    workspace.site(site).ok_or_else(|| StoreError::UnknownSite {
        site: site.to_owned(),
        sites: workspace.sites.iter().map(|s| s.id.clone()).collect(),
    })
}

fn standard_visits(facts: &Visits, standard: Option<f64>) -> Arc<[Visit]> {
    let visit = |(date, v): (&NaiveDate, &VisitFacts)| Visit {
        date: *date,
        log_effort_ratio: log_ratio(v.effort, standard),
    };
    let searches = facts.iter().filter(|(_, v)| v.standard);
    searches.map(visit).collect()
}

fn history(
    site: &Site,
    facts: &Visits,
    counted: Counted,
    standard: Option<f64>,
    fingerprint: String,
) -> Result<SiteHistory, StoreError> {
    let visits = standard_visits(facts, standard);
    let partial = |v: &&VisitFacts| v.standard && !v.fully_reported;
    let series = |counts| {
        let made = CountSeries::new(visits.clone(), counts);
        made.map_err(|cause| StoreError::Series {
            site: site.id.clone(),
            cause,
        })
    };
    let species = counted.species.into_iter();
    let species = species.map(|(name, counts)| Ok((name, series(counts)?)));
    let standard_ones = facts.values().filter(|v| v.standard);
    Ok(SiteHistory {
        site: site.id.clone(),
        species: species.collect::<Result<_, StoreError>>()?,
        unrecorded: series(unrecorded(facts))?,
        targeted: counted.targeted,
        undecided: counted.undecided,
        temperature: Vec::new(),
        partial_visits: facts.values().filter(partial).count(),
        standard_effort: standard,
        standard_is_stated: site.standard_effort.is_some(),
        efforts: standard_ones.map(|v| v.effort).collect(),
        first_visit: visits.first().map(|v| v.date),
        last_visit: visits.last().map(|v| v.date),
        visits,
        fingerprint,
    })
}
