//! The steps of a run, each as it is done without the service: they block, know no schedule, and
//! leave the store as it was where they fail.

use super::retry::Fault;
use crate::cli::digest::{self, Composed};
use crate::cli::load::leave_page;
use crate::cli::session::Session;
use crate::fitting::{self, SiteSummary};
use chrono::{DateTime, NaiveDate, Utc};
use config::settings::Workspace;
use ingest::fetch::{FetchReport, Outcome};
use ingest::{LoadReport, Store};
use std::path::Path;

/// A part of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Sources with an address are asked.
    Fetch,
    /// Sources are loaded.
    Load,
    /// Curves are fitted, where something changed.
    Fit,
    /// The digest is composed.
    Compose,
    /// Its deliveries are queued.
    Queue,
    /// What is due is sent.
    Send,
}

impl Step {
    /// As the tables and the logs write it.
    pub fn name(self) -> &'static str {
        match self {
            Step::Fetch => "fetch",
            Step::Load => "load",
            Step::Fit => "fit",
            Step::Compose => "compose",
            Step::Queue => "queue",
            Step::Send => "send",
        }
    }
}

/// What came of a try: what it gave, and what was wrong; where there are both, it will do, and
/// another try may do better.
#[derive(Debug, Clone)]
pub struct Tried<T> {
    /// What it gave.
    pub value: Option<T>,
    /// What was wrong.
    pub fault: Option<Fault>,
}

impl<T> From<Result<T, Fault>> for Tried<T> {
    fn from(result: Result<T, Fault>) -> Self {
        match result {
            Ok(value) => Tried {
                value: Some(value),
                fault: None,
            },
            Err(fault) => Tried {
                value: None,
                fault: Some(fault),
            },
        }
    }
}

/// Asks every address. A source that cannot be reached keeps its copy, and is worth another try.
pub fn fetch(dir: &Path, now: DateTime<Utc>) -> Tried<Vec<FetchReport>> {
    let fetched = || -> Result<Vec<FetchReport>, Fault> {
        let workspace = config::load(dir)?;
        Ok(ingest::fetch(&workspace, now, &mut |_| {})?)
    };
    let mut tried = Tried::from(fetched());
    let reports = tried.value.iter().flatten();
    let failed = reports
        .filter(|r| matches!(r.outcome, Outcome::Failed { .. }))
        .map(ToString::to_string);
    let failed: Vec<String> = failed.collect();
    if !failed.is_empty() {
        tried.fault = Some(Fault {
            kind: super::retry::Kind::Outside,
            sentence: failed.join(" "),
        });
    }
    tried
}

/// Loads every source, and leaves the page on it.
pub fn load(dir: &Path, now: DateTime<Utc>) -> Tried<LoadReport> {
    let load = || -> Result<(Workspace, LoadReport), Fault> {
        let workspace = config::load(dir)?;
        let report = ingest::load(&workspace, &workspace.root, now, &mut |_| {})?;
        Ok((workspace, report))
    };
    match load() {
        Err(fault) => Err(fault).into(),
        Ok((workspace, report)) => {
            let page = leave_page(&workspace, &report, now);
            Tried {
                value: Some(report),
                fault: page.err().map(Fault::from),
            }
        }
    }
}

/// Fits the curves anew, unless every site's are of the counts that are there.
pub fn fit(dir: &Path, changed: bool) -> Tried<Option<Vec<SiteSummary>>> {
    let fit = || -> Result<Option<Vec<SiteSummary>>, Fault> {
        let mut session = Session::open(dir)?;
        if !changed && fits_stand(&session) {
            return Ok(None);
        }
        let summaries = fitting::fit_all(&session.workspace, &mut session.store, &|_| {})?;
        Ok(Some(summaries))
    };
    fit().into()
}

fn fits_stand(session: &Session) -> bool {
    let mut sites = session.workspace.sites.iter();
    sites.all(|site| session.fitted_site(site).is_ok_and(|s| !s.is_outdated()))
}

/// Composes the digest of a date.
pub fn compose(dir: &Path, date: NaiveDate) -> Tried<(Session, Composed)> {
    let compose = || -> Result<(Session, Composed), Fault> {
        let session = Session::open(dir)?;
        // what is told on the screen stands in the digest too
        let composed = digest::compose(&session, Some(date), &mut std::io::sink())?;
        Ok((session, composed))
    };
    compose().into()
}

/// When the store last changed; None where nothing was loaded.
pub fn last_loaded(dir: &Path) -> Option<DateTime<Utc>> {
    let workspace = config::load(dir).ok()?;
    let store = Store::open_existing(&workspace.root).ok()?;
    Some(store.last_report().ok()??.loaded_at)
}
