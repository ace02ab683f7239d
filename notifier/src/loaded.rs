//! One site with all that was counted, fitted and forecast, as the store has it.

use crate::digest::Notice;
use crate::fitting::{self, FittingError};
use crate::guidance::SiteView;
use crate::record::LookBack;
use config::settings::{Site, Workspace};
use forecast::fit::SpeciesFit;
use forecast::temperature::daily::DailyTemperature;
use forecast::watched::Watched;
use ingest::store::{IssuedChance, SiteHistory, Store, StoreError};
use std::collections::BTreeMap;

/// All that the store has of a site.
#[derive(Debug, Clone)]
pub struct SiteData {
    /// Its counts.
    pub history: SiteHistory,
    /// Its fits, by scientific name.
    pub fits: BTreeMap<String, SpeciesFit>,
    /// Its watched days.
    pub watched: Watched,
    /// Its daily temperatures, where any are loaded.
    pub temperature: Option<DailyTemperature>,
    /// How often its forecasts would have come true in past seasons.
    pub look_back: Option<LookBack>,
    /// Its forecasts, each issued before its week.
    pub issued: Vec<IssuedChance>,
    /// Fingerprint of older counts that the fits were made from.
    pub outdated: Option<String>,
}

/// A site's data cannot be had.
#[derive(Debug, thiserror::Error)]
pub enum SiteDataError {
    /// The store could not be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The temperatures make no series.
    #[error(transparent)]
    Fitting(#[from] FittingError),
    /// What was fitted has another form.
    #[error("the fits were made by another version")]
    OtherVersion,
}

impl SiteData {
    /// Reads what the store has of a site.
    ///
    /// # Errors
    /// [`SiteDataError`] where the store cannot be read, or holds another version's fits.
    pub fn load(store: &Store, workspace: &Workspace, site: &str) -> Result<Self, SiteDataError> {
        let history = store.history(workspace, site)?;
        let mut fits = BTreeMap::new();
        for (species, value) in store.fits(site)? {
            let fit = serde_json::from_value(value).map_err(|_| SiteDataError::OtherVersion)?;
            fits.insert(species, fit);
        }
        let watched = Watched::from_visits(&history.visits);
        let fitted = store.fits_inputs(site)?;
        let outdated = fitted.filter(|inputs| *inputs != history.fingerprint);
        let look_back = store.record(site)?.map(serde_json::from_value).transpose();
        Ok(SiteData {
            history,
            fits,
            watched,
            temperature: fitting::temperature(store, site)?,
            look_back: look_back.map_err(|_| SiteDataError::OtherVersion)?,
            issued: store.issued_beforehand(site)?,
            outdated,
        })
    }

    /// Whether curves are still to be fitted; a site without a record has nothing to fit.
    pub fn is_unfitted(&self) -> bool {
        self.fits.is_empty() && !self.history.species.is_empty()
    }

    /// Why the curves do not belong to the counts, where they do not.
    pub fn old_curves(&self) -> Option<Notice> {
        let fitted = self.outdated.as_ref()?;
        Some(match self.history.differs_by_withdrawals_alone(fitted) {
            true => Notice::Withdrawn,
            false => Notice::OldCurves,
        })
    }

    /// What guidance works from.
    pub fn view<'a>(
        &'a self,
        workspace: &'a Workspace,
        site: &'a Site,
        program: &'a str,
    ) -> SiteView<'a> {
        SiteView {
            workspace,
            program,
            site,
            visits: &self.history.visits,
            series: &self.history.species,
            unrecorded: &self.history.unrecorded,
            fits: &self.fits,
            watched: &self.watched,
            temperature: self.temperature.as_ref(),
            look_back: self.look_back.as_ref(),
            issued: &self.issued,
        }
    }
}
