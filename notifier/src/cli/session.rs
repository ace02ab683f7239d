//! What the commands share: the opened workspace, its store, and one site's view of both.

use super::{Failure, program};
use crate::digest::Notice;
use crate::guidance::SiteView;
use crate::guidance::types::{MemberGuidance, WeekGuidance};
use crate::loaded::{SiteData, SiteDataError};
use crate::second_look::{self, SecondLooks};
use chrono::{NaiveDate, Utc};
use config::nearest::nearest;
use config::settings::{Site, Workspace};
use ingest::store::{IssuedChance, IssuedFrom, Store, StoreError};
use std::io::Write;
use std::ops::Deref;
use std::path::Path;

/// An opened workspace with its store.
pub struct Session {
    /// Settings.
    pub workspace: Workspace,
    /// Counts and fits.
    pub store: Store,
    /// How the program is called on it.
    program: String,
}

/// One site with all that was counted and fitted.
pub struct LoadedSite<'a> {
    workspace: &'a Workspace,
    program: &'a str,
    /// The site.
    pub site: &'a Site,
    data: SiteData,
}

impl Deref for LoadedSite<'_> {
    type Target = SiteData;

    fn deref(&self) -> &SiteData {
        &self.data
    }
}

impl LoadedSite<'_> {
    /// Leaves out the records that a second look asks about and nobody answered; how many.
    pub fn leave_out_pending(&mut self, found: &SecondLooks) -> usize {
        second_look::leave_out_pending(&mut self.data.history, found)
    }

    /// Tells where the fits no longer belong to the counts.
    pub fn warn(&self, err: &mut dyn Write) -> Result<(), Failure> {
        let changed = match self.old_curves() {
            None => return Ok(()),
            Some(Notice::Withdrawn) => "a record of {site} was withdrawn or put back",
            Some(_) => "the counts of {site} changed",
        };
        let changed = changed.replace("{site}", &self.site.id);
        let program = self.program;
        writeln!(
            err,
            "warning: {changed} since the last fit; run: {program} fit"
        )?;
        Ok(())
    }

    /// Whether the counts changed since the fits were made.
    pub fn is_outdated(&self) -> bool {
        self.outdated.is_some()
    }

    /// What a forecast made now is issued from.
    pub fn issued_from(&self) -> IssuedFrom {
        let counts = &self.history.fingerprint;
        let inputs = match &self.outdated {
            Some(fits) => format!("{counts} with fits of {fits}"),
            None => counts.clone(),
        };
        IssuedFrom {
            site: self.site.id.clone(),
            inputs,
            last_visit: self.history.last_visit,
            issued_at: Utc::now(),
        }
    }

    /// How the program is called on the workspace.
    pub fn program(&self) -> &str {
        self.program
    }

    /// What guidance works from.
    pub fn view(&self) -> SiteView<'_> {
        self.data.view(self.workspace, self.site, self.program)
    }
}

impl Session {
    /// Opens the workspace in `dir` and the store that `load` made.
    pub fn open(dir: &Path) -> Result<Self, Failure> {
        let workspace = config::load(dir)?;
        let store = Store::open_existing(&workspace.root)?;
        let program = program::name(dir);
        Ok(Session {
            workspace,
            store,
            program,
        })
    }

    /// The site of that id; the only one where none is named.
    pub fn site(&self, id: Option<&str>) -> Result<&Site, Failure> {
        let ids: Vec<&str> = self.workspace.sites.iter().map(|s| s.id.as_str()).collect();
        let Some(id) = id else {
            return match self.workspace.sites.as_slice() {
                [only] => Ok(only),
                [first, ..] => Err(Failure::new(format!(
                    "which site? name one with --site: {}",
                    ids.join(", ")
                ))
                .missing(format!("--site {}", first.id))),
                [] => Err(Failure::new("wingtide.toml has no [[site]]")),
            };
        };
        self.workspace
            .sites
            .iter()
            .find(|s| s.id == id)
            .ok_or_else(|| {
                let failure = Failure::new(format!(
                    "there is no site \"{id}\"; the workspace has {}",
                    ids.join(", ")
                ));
                match nearest(id, ids.iter().copied()) {
                    Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
                    None => failure,
                }
            })
    }

    /// A site with its counts and, where `fit` has run, its fits.
    pub fn load_site<'a>(&'a self, site: &'a Site) -> Result<LoadedSite<'a>, Failure> {
        let data = SiteData::load(&self.store, &self.workspace, &site.id);
        Ok(LoadedSite {
            workspace: &self.workspace,
            program: &self.program,
            site,
            data: data.map_err(no_data)?,
        })
    }

    /// A site with fits, or what to do to get them.
    pub fn fitted_site<'a>(&'a self, site: &'a Site) -> Result<LoadedSite<'a>, Failure> {
        let loaded = self.load_site(site)?;
        if loaded.is_unfitted() {
            return Err(Failure::new(format!(
                "the curves of {} have not been fitted yet",
                site.id
            ))
            .hint("run: wingtide fit"));
        }
        Ok(loaded)
    }

    /// Keeps what was said of a week, to be held to what comes. Of a week of which visits are
    /// loaded already nothing was forecast, and nothing is kept; nor of a species of which no
    /// chance is told.
    pub fn keep(&mut self, from: &IssuedFrom, week: &WeekGuidance) -> Result<(), StoreError> {
        if from.last_visit.is_some_and(|d| d >= week.week.monday()) {
            return Ok(());
        }
        let chance = |m: &MemberGuidance| IssuedChance {
            species: m.species.clone(),
            monday: week.week.monday(),
            visits_assumed: week.visits_assumed,
            chance_visit: m.chance_visit,
            chance_week: m.chance_week,
            by_visits: m.by_visits.to_vec(),
        };
        let members = week.sets.iter().flat_map(|s| &s.members);
        let told = members.chain(&week.others).filter(|m| m.has_chance());
        self.store
            .keep_issued(from, &told.map(chance).collect::<Vec<_>>())
    }

    /// The scientific name of a species given by any of its names, among those counted at the site.
    pub fn species(&self, loaded: &LoadedSite, name: &str) -> Result<String, Failure> {
        let known = self
            .workspace
            .resolve_species(name)
            .map(|s| s.scientific.clone());
        let scientific =
            known.unwrap_or_else(|| name.split_whitespace().collect::<Vec<_>>().join(" "));
        let counted: Vec<&str> = loaded.history.species.keys().map(String::as_str).collect();
        if let Some(found) = counted.iter().find(|c| c.eq_ignore_ascii_case(&scientific)) {
            return Ok((*found).to_owned());
        }
        let failure = Failure::new(format!("no count of \"{name}\" at {}", loaded.site.id));
        let names = self
            .workspace
            .species
            .iter()
            .flat_map(|s| s.names.values().map(String::as_str));
        Err(match nearest(name, counted.iter().copied().chain(names)) {
            Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
            None => failure,
        })
    }
}

fn no_data(error: SiteDataError) -> Failure {
    match error {
        SiteDataError::Store(store) => store.into(),
        SiteDataError::Fitting(fitting) => fitting.into(),
        other => Failure::new(other.to_string()).hint("run: wingtide fit"),
    }
}

/// Today at the site. This and [`today_utc`] are the program's only look at a calendar.
pub fn today(site: &Site) -> NaiveDate {
    Utc::now().with_timezone(&site.time_zone).date_naive()
}

/// Today in universal time, where there is no site.
pub fn today_utc() -> NaiveDate {
    Utc::now().date_naive()
}
