//! What follows from all sources together: sites, gaps, and what would make zeros known.

use crate::gaps::{self, Dated, VisitFacts};
use crate::half_years::{self, Decisions, Settled};
use crate::load::{Content, Prepared};
use crate::names_kept;
use crate::overlap::{self, Merging};
use crate::report::{HalfYear, HalfYearNote, Kind, LoadReport, SourceReport, ZeroOffer, Zeros};
use crate::source::DaysBySite;
use crate::store::{Store, StoreError};
use chrono::{DateTime, NaiveDate, Utc};
use config::settings::{Site, Workspace};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;

/// The report over all sources and what it decided.
pub(crate) struct Outcome {
    pub(crate) report: LoadReport,
    pub(crate) settled: Settled,
}

/// Everything but the sources' files and how they are read that an outcome hangs on. Where it is
/// as it was, files that did not change need not be looked at again.
pub(crate) fn basis(workspace: &Workspace, now: DateTime<Utc>) -> String {
    let use_targeted = workspace.records.use_targeted;
    let overlap = workspace.records.overlap;
    let half = HalfYear::of(now.date_naive());
    let mut text = format!("3 {use_targeted} {overlap:?} {half}");
    for site in &workspace.sites {
        let _ = write!(text, " {:?} {:?}", site.id, site.half_years); // writing to a String cannot fail
    }
    for source in &workspace.sources {
        let _ = write!(text, " {:?}", source.id);
    }
    let _ = write!(text, " {:?}", workspace.store);
    names_kept::cleared(workspace, text)
}

/// What an outcome is worked out from.
pub(crate) struct Inputs<'a> {
    pub(crate) workspace: &'a Workspace,
    pub(crate) store: &'a Store,
    pub(crate) prepared: &'a [Prepared],
    pub(crate) removed_sources: Vec<String>,
    /// The load whose decisions are forgotten.
    pub(crate) forgotten: Option<DateTime<Utc>>,
    pub(crate) now: DateTime<Utc>,
}

pub(crate) fn outcome(inputs: Inputs<'_>) -> Result<Outcome, StoreError> {
    let Inputs {
        workspace,
        store,
        prepared,
        removed_sources,
        forgotten,
        now,
    } = inputs;
    let dated = all_dated(store, prepared)?;
    let merging = Merging::from(&workspace.records);
    let sources: Vec<SourceReport> = prepared.iter().map(|p| p.report.clone()).collect();
    let kept = decisions(workspace, store, forgotten)?;
    let (mut sites, mut settled) = (Vec::new(), Settled::default());
    settled.new.extend(kept.unwritten.values().cloned());
    let mut all_visits = BTreeMap::new();
    for site in &workspace.sites {
        let visits = gaps::visits(dated.iter().map(|(_, d)| d), &site.id, merging);
        settled.site(site, &visits, &kept.in_force, now);
        settled.notes.extend(unlisted(site, &visits, &dated));
        let table = dated.iter().any(|(_, d)| d.has_visits_table(&site.id));
        let gaps = &settled.gaps;
        sites.push(gaps::site_report(&site.id, &visits, gaps, &sources, table));
        all_visits.insert(site.id.as_str(), visits);
    }
    let mut report = LoadReport {
        loaded_at: now,
        unchanged: false,
        sources,
        removed_sources,
        names_erased: None,
        sites,
        gaps: settled.gaps.clone(),
        half_years: settled.notes.clone(),
        overlaps: overlap::find(store, &dated, &all_visits, merging)?,
        offers: Vec::new(),
    };
    report.offers = offers(&report, prepared);
    Ok(Outcome { report, settled })
}

/// The sources that tell of visits, with their dates.
fn all_dated<'p>(
    store: &Store,
    prepared: &'p [Prepared],
) -> Result<Vec<(&'p Prepared, Dated)>, StoreError> {
    let mut all = Vec::new();
    for source in prepared {
        all.extend(dated_rows(store, source)?.map(|dated| (source, dated)));
    }
    Ok(all)
}

/// Half-years of a site with records of which its visits table has no visit.
fn unlisted(
    site: &Site,
    visits: &BTreeMap<NaiveDate, VisitFacts>,
    dated: &[(&Prepared, Dated)],
) -> Vec<HalfYearNote> {
    let listed = dated
        .iter()
        .flat_map(|(_, d)| d.listed_half_years(&site.id));
    half_years::without_visits(site, visits, &listed.collect())
}

/// Decisions in force, and those among them that are still to be written.
struct Kept {
    in_force: Decisions,
    unwritten: Decisions,
}

/// Those that the ledger holds; where it was written by a version that kept none, what that
/// version's rows and gaps come to.
fn decisions(
    workspace: &Workspace,
    store: &Store,
    forgotten: Option<DateTime<Utc>>,
) -> Result<Kept, StoreError> {
    let in_force = store.decisions(forgotten)?;
    let older = store.decisions(None)?.is_empty();
    let last = store.last_report()?.filter(|_| older);
    let Some(last) = last else {
        let unwritten = Decisions::new();
        return Ok(Kept {
            in_force,
            unwritten,
        });
    };
    let mut dated = Vec::new();
    for batch in store.batches()? {
        let days = store.days(&batch)?;
        let rule = batch.report.observers;
        dated.extend(Dated::of(batch.kind, days, rule, batch.fully_reported));
    }
    let gaps = store.gaps()?;
    let former = workspace.sites.iter().flat_map(|site| {
        let visits = gaps::visits(&dated, &site.id, (&workspace.records).into());
        half_years::of_older_store(&site.id, &visits, &gaps, last.loaded_at)
    });
    let by_place = former.map(|d| ((d.site.clone(), d.half), d));
    let unwritten: Decisions = by_place.collect();
    let in_force = unwritten.clone();
    Ok(Kept {
        in_force,
        unwritten,
    })
}

fn dated_rows(store: &Store, prepared: &Prepared) -> Result<Option<Dated>, StoreError> {
    let days: Arc<DaysBySite> = match &prepared.content {
        Content::New(fresh) => Arc::clone(&fresh.days),
        Content::Kept(batch) => store.days(batch)?,
        Content::Withheld => Arc::default(),
    };
    Ok(Dated::of(
        prepared.report.kind,
        days,
        prepared.report.observers,
        prepared.fully_reported,
    ))
}

/// Counts that could be declared fully reported, where a site's zeros are unknown.
fn offers(report: &LoadReport, prepared: &[Prepared]) -> Vec<ZeroOffer> {
    let unknown = |site: &&String| {
        let site = report.site(site);
        site.is_some_and(|s| s.zeros == Zeros::Unknown)
    };
    let partial = prepared
        .iter()
        .filter(|p| p.report.kind == Kind::Counts && !p.fully_reported);
    partial
        .map(|p| {
            let mut sites: Vec<String> = Vec::new();
            for site in p
                .report
                .species
                .iter()
                .flat_map(|s| s.sites.keys())
                .filter(unknown)
            {
                if !sites.contains(site) {
                    sites.push(site.clone());
                }
            }
            ZeroOffer {
                source: p.report.id.clone(),
                sites,
                line: "fully_reported = true".to_owned(),
            }
        })
        .filter(|offer| !offer.sites.is_empty())
        .collect()
}
