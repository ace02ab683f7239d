//! The workspace as everybody may see it, read at one moment.

use super::aliases::Aliases;
use super::shown;
use super::shown::plan::ShownPlans;
use crate::deliveries::DeliveryError;
use crate::guidance::SiteView;
use crate::loaded::{SiteData, SiteDataError};
use crate::plan::kept;
use chrono::{DateTime, NaiveDate, SubsecRound, Utc};
use config::error::ConfigError;
use config::settings::{Site, Workspace};
use ingest::STORE_FOLDER;
use ingest::store::{Store, StoreError};
use std::path::Path;
use std::sync::OnceLock;

/// What all pages are made from; nothing that is withheld is in it.
#[derive(Debug, Clone)]
pub struct Snapshot {
    /// Settings, as shown.
    pub workspace: Workspace,
    /// Its sites, as shown, in the order of the settings.
    pub sites: Vec<ShownSite>,
    /// Kept plans, as shown; None where what is kept cannot be read.
    pub plans: Option<ShownPlans>,
    /// When the store last changed, to the second.
    pub changed: DateTime<Utc>,
}

/// A site as shown.
#[derive(Debug, Clone)]
pub struct ShownSite {
    /// The site.
    pub site: Site,
    /// Its counts and fits; None while nothing is loaded or fitted for it.
    pub data: Option<SiteData>,
    /// How many sheets its year takes, once somebody wished to know.
    pub(super) sheets: OnceLock<u8>,
}

/// A workspace that cannot be shown.
#[derive(Debug, thiserror::Error)]
pub enum SnapshotError {
    /// Its settings.
    #[error(transparent)]
    Config(#[from] ConfigError),
    /// Its store.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// What the store has of a site.
    #[error(transparent)]
    Site(#[from] SiteDataError),
    /// Names for what is not to be named cannot be made.
    #[error(transparent)]
    Aliases(#[from] DeliveryError),
}

/// How the program is called in what readers are told: they have none.
const PROGRAM: &str = "wingtide";

impl Snapshot {
    /// Reads settings and store.
    ///
    /// # Errors
    /// [`SnapshotError`] where either cannot be read. A store that is not there yet is empty.
    pub fn read(dir: &Path) -> Result<Self, SnapshotError> {
        let workspace = config::load(dir)?;
        let aliases = Aliases::of(&workspace)?;
        let store = match Store::open_existing(&workspace.root) {
            Ok(store) => Some(store),
            Err(StoreError::Absent(_) | StoreError::Emptied) => None,
            Err(error) => return Err(error.into()),
        };
        let mut sites = Vec::new();
        let shown_sites = shown::sites(&workspace, &aliases);
        let plans = plans(&workspace, &shown_sites);
        for (own, site) in shown_sites {
            let data = match &store {
                Some(store) => Some(SiteData::load(store, &workspace, own)?),
                None => None,
            };
            let data = data.map(|data| shown::data(data, &workspace));
            let data = data.filter(|data| !data.is_unfitted());
            sites.push(ShownSite {
                site,
                data,
                sheets: OnceLock::new(),
            });
        }
        let workspace = shown::workspace(&workspace, &aliases);
        Ok(Snapshot {
            changed: changed(&workspace),
            workspace,
            sites,
            plans,
        })
    }

    /// Is a visit planned, or was, at the site, or at any?
    pub fn has_plan(&self, site: Option<&str>) -> bool {
        let Some(plans) = &self.plans else {
            return false;
        };
        match site {
            Some(site) => plans.has(site),
            None => self.sites.iter().any(|s| plans.has(&s.site.id)),
        }
    }

    /// Is there more to tell of the site's planned visits than their dates?
    pub fn has_sheets(&self, site: &str) -> bool {
        let plans = self.plans.as_ref();
        let told = plans.is_some_and(|p| p.of_site(site).next().is_some());
        told && self.site(site).is_some_and(|s| s.data.is_some())
    }

    /// The site of that id, if everybody may know of it.
    pub fn site(&self, id: &str) -> Option<&ShownSite> {
        self.sites.iter().find(|s| s.site.id == id)
    }
}

/// A plan that cannot be read keeps no page from being shown.
fn plans(workspace: &Workspace, sites: &[(&str, Site)]) -> Option<ShownPlans> {
    match kept::read(&workspace.root) {
        Ok(kept) => Some(ShownPlans::of(&kept, workspace, sites)),
        Err(why) => {
            tracing::warn!("the pages show no plan: {why}");
            None
        }
    }
}

/// By the time of the ledger's file; the beginning of all times where there is none.
fn changed(workspace: &Workspace) -> DateTime<Utc> {
    let ledger = workspace.root.join(STORE_FOLDER).join("ledger.sqlite");
    let modified = std::fs::metadata(ledger).and_then(|about| about.modified());
    modified.map_or(DateTime::UNIX_EPOCH, |at| {
        DateTime::<Utc>::from(at).trunc_subsecs(0)
    })
}

impl ShownSite {
    /// What guidance works from; None while there is nothing.
    pub fn view<'a>(&'a self, workspace: &'a Workspace) -> Option<SiteView<'a>> {
        let data = self.data.as_ref()?;
        Some(data.view(workspace, &self.site, PROGRAM))
    }

    /// The date there.
    pub fn today(&self, now: DateTime<Utc>) -> NaiveDate {
        now.with_timezone(&self.site.time_zone).date_naive()
    }
}
