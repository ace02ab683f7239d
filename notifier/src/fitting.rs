//! Fits every species at every site, in parallel, and keeps the fits in the store.

use crate::record::LookBack;
use crate::second_look::Past;
use config::settings::{Site, Workspace};
use forecast::calendar::DayOfYear;
use forecast::fit::{SpeciesFit, Verdict};
use forecast::passage::name::Hemisphere;
use forecast::passage::{self, Setting};
use forecast::series::CountSeries;
use forecast::temperature::daily::{DailyTemperature, DailyTemperatureError};
use forecast::temperature::of_site::keep_gates;
use forecast::watched::Watched;
use forecast::year_curve::{BadKnots, Params};
use ingest::store::{SiteHistory, Store, StoreError};
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::sync::atomic::{AtomicUsize, Ordering};

/// How far the fits have come.
#[derive(Debug, Clone, Copy)]
pub struct Step<'a> {
    /// Fits done.
    pub done: usize,
    /// Fits in all.
    pub total: usize,
    /// The species just done.
    pub species: &'a str,
}

/// What became of a site's species.
#[derive(Debug, Clone, Default)]
pub struct SiteSummary {
    /// Site id.
    pub site: String,
    /// Species with a seasonal curve.
    pub curves: usize,
    /// Species there all year, or without a season.
    pub uncut: usize,
    /// Species with too few records.
    pub too_few: usize,
    /// Species whose fit failed, and why.
    pub failures: Vec<(String, String)>,
}

/// Fits could not be made or kept.
#[derive(Debug, thiserror::Error)]
pub enum FittingError {
    /// The store could not be read or written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The temperatures make no series.
    #[error(transparent)]
    Temperature(#[from] DailyTemperatureError),
    /// The curve's own settings.
    #[error(transparent)]
    Knots(#[from] BadKnots),
    /// A fit could not be written down.
    #[error("a fit cannot be kept: {0}")]
    Json(#[from] serde_json::Error),
}

/// Fits all species at all sites; every site's fits are replaced together.
pub fn fit_all(
    workspace: &Workspace,
    store: &mut Store,
    progress: &(dyn Fn(Step) + Sync),
) -> Result<Vec<SiteSummary>, FittingError> {
    let params = Params::default().check()?;
    let mut histories = Vec::new();
    for site in &workspace.sites {
        let history = store.history(workspace, &site.id)?;
        histories.push((site, history, temperature(store, &site.id)?));
    }
    let total = histories.iter().map(|(_, h, _)| h.species.len()).sum();
    let done = AtomicUsize::new(0);
    let mut summaries = Vec::new();
    for (site, history, temperature) in &histories {
        let watched = Watched::from_visits(&history.visits);
        let all = history.species.par_iter();
        let mut fits: Vec<(&str, SpeciesFit)> = all
            .map(|(species, series)| {
                let fit = one(site, species, series, &watched, &params);
                let done = done.fetch_add(1, Ordering::Relaxed) + 1;
                let step = Step {
                    done,
                    total,
                    species,
                };
                progress(step);
                (species.as_str(), fit)
            })
            .collect();
        if let Some(temperature) = temperature {
            let mut passages: Vec<&mut SpeciesFit> = fits.iter_mut().map(|(_, fit)| fit).collect();
            keep_gates(&mut passages, temperature, seed(&site.id, "temperature"));
        }
        summaries.push(summary(&site.id, &fits));
        keep(store, site, history, temperature.as_ref(), &fits)?;
        let past = serde_json::to_value(Past::of(workspace, history))?;
        store.save_scores(&site.id, &history.fingerprint, &past)?;
    }
    Ok(summaries)
}

/// A site's daily temperatures; None where none are loaded.
pub fn temperature(store: &Store, site: &str) -> Result<Option<DailyTemperature>, FittingError> {
    let days = store.temperature(site)?;
    if days.is_empty() {
        return Ok(None);
    }
    Ok(Some(DailyTemperature::new(&days)?))
}

fn one(
    site: &Site,
    species: &str,
    series: &CountSeries,
    watched: &Watched,
    params: &forecast::year_curve::ValidParams,
) -> SpeciesFit {
    let stated = site.cuts.get(species).map_or(&[][..], Vec::as_slice);
    // a common year's day; the settings allow no 29 February
    let day =
        |(m, d): &(u8, u8)| chrono::NaiveDate::from_ymd_opt(2023, u32::from(*m), u32::from(*d));
    let cuts: Vec<DayOfYear> = stated.iter().filter_map(day).map(DayOfYear::of).collect();
    let setting = Setting {
        params,
        watched,
        hemisphere: Hemisphere::of_latitude(site.latitude),
        cuts: &cuts,
        seed: seed(&site.id, species),
    };
    passage::fit(series, &setting)
}

/// The same counts give the same intervals on every machine and in every order of work.
fn seed(site: &str, species: &str) -> u64 {
    let hash = Sha256::digest(format!("{site}\n{species}"));
    hash.iter()
        .take(8)
        .fold(0, |seed, byte| seed << 8 | u64::from(*byte))
}

fn summary(site: &str, fits: &[(&str, SpeciesFit)]) -> SiteSummary {
    let mut summary = SiteSummary {
        site: site.to_owned(),
        ..SiteSummary::default()
    };
    for (species, fit) in fits {
        match fit.verdict {
            Verdict::Curve => summary.curves += 1,
            Verdict::AllYear | Verdict::NoSeason => summary.uncut += 1,
            Verdict::TooFew if fit.failure.is_none() => summary.too_few += 1,
            Verdict::TooFew => {}
        }
        if let Some(why) = &fit.failure {
            summary.failures.push(((*species).to_owned(), why.clone()));
        }
    }
    summary
}

fn keep(
    store: &mut Store,
    site: &Site,
    history: &SiteHistory,
    temperature: Option<&DailyTemperature>,
    fits: &[(&str, SpeciesFit)],
) -> Result<(), FittingError> {
    let mut values = Vec::with_capacity(fits.len());
    for (species, fit) in fits {
        values.push(((*species).to_owned(), serde_json::to_value(fit)?));
    }
    store.save_fits(&site.id, &history.fingerprint, &values)?;
    if let Some(record) = LookBack::of(&history.visits, &history.species, temperature) {
        store.save_record(
            &site.id,
            &history.fingerprint,
            &serde_json::to_value(record)?,
        )?;
    }
    Ok(())
}
