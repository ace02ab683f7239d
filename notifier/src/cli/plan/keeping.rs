//! What is kept of a plan: its entries for those who follow its calendar, and what everybody may be
//! told of it.

use super::{plan_site, write};
use crate::cli::Failure;
use crate::cli::args::Plan as PlanArgs;
use crate::cli::session::{LoadedSite, Session};
use crate::loaded::SiteData;
use crate::plan::choosing::PlanSite;
use crate::plan::kept::{self, Kept};
use crate::plan::open::Open;
use crate::plan::targets::Wanted;
use crate::plan::tides::Tides;
use crate::plan::{Plan, PlanError, Request, calendar, told, untold};
use crate::web::shown;
use crate::web::shown::plan::is_sensitive;
use chrono::{DateTime, Utc};
use config::sensitive::Sensitive;
use config::settings::{Site, Workspace};
use ingest::store::Sighting;

/// What a plan was made from.
pub(super) struct Made<'a> {
    pub(super) session: &'a Session,
    pub(super) request: &'a Request,
    pub(super) sites: &'a [LoadedSite<'a>],
    pub(super) targets: &'a [Wanted],
    pub(super) tides: Option<&'a Tides>,
}

/// A site without species that are kept back.
struct OpenSite<'a> {
    site: &'a Site,
    data: SiteData,
    targeted: Vec<Sighting>,
}

impl Made<'_> {
    /// Keeps the plan. The calendar comes first: should it fail, nothing is counted on.
    pub(super) fn keep(
        &self,
        args: &PlanArgs,
        plan: &Plan,
        before: Kept,
        now: DateTime<Utc>,
    ) -> Result<(), Failure> {
        let workspace = &self.session.workspace;
        let open = self.told(plan, &before)?;
        let entries = kept::after(before.entries, plan, now)
            .map_err(|why| Failure::new(format!("the plan cannot be kept: {why}")))?;
        let after = Kept {
            entries,
            plans: told::after(before.plans, plan, open),
        };
        if let Some(path) = &args.ics {
            let rows = calendar::rows(workspace, &after.entries);
            let about = workspace.about.as_deref();
            let calendar = calendar::calendar(&workspace.name, about, &rows);
            write(path, calendar.as_bytes())?;
        }
        Ok(kept::write(&workspace.root, after)?)
    }

    /// The plan as everybody may be told of it; None where nothing of it may be.
    fn told(&self, plan: &Plan, before: &Kept) -> Result<Option<Plan>, PlanError> {
        let workspace = &self.session.workspace;
        let withheld = |s: &LoadedSite| s.site.sensitive == Some(Sensitive::Withhold);
        let sites = self.sites.iter();
        if workspace.species.iter().all(|s| s.sensitive.is_none()) && !sites.clone().any(withheld) {
            return Ok(Some(plan.clone()));
        }
        let open: Vec<OpenSite> = sites
            .filter(|s| !withheld(s))
            .map(|s| open_site(workspace, s))
            .collect();
        let sites: Vec<PlanSite> = open
            .iter()
            .map(|s| plan_site(s.data.view(workspace, s.site, ""), &s.targeted))
            .collect();
        let targets = self.targets.iter();
        let targets: Vec<Wanted> = targets
            .filter(|t| !is_sensitive(workspace, &t.species))
            .cloned()
            .collect();
        let targets = match untold::parted(self.request, &sites, targets) {
            Err(PlanError::FindsAlone(_)) => return Ok(None),
            parted => parted?.0,
        };
        let told = before.plans.iter().cloned().map(|mut told| {
            // what was told before it was kept back is told no more
            told.keep_species(|species| !is_sensitive(workspace, species));
            told
        });
        let told: Vec<Plan> = told.collect();
        let open = Open {
            request: self.request,
            settings: &workspace.plan,
            sites: &sites,
            targets: &targets,
            tides: self.tides,
            kept: &before.entries,
            told: &told,
        };
        open.plan(plan)
    }
}

fn open_site<'a>(workspace: &Workspace, loaded: &LoadedSite<'a>) -> OpenSite<'a> {
    let data: &SiteData = loaded;
    let targeted = data.history.targeted.iter();
    OpenSite {
        site: loaded.site,
        targeted: targeted
            .filter(|t| !is_sensitive(workspace, &t.species))
            .cloned()
            .collect(),
        data: shown::data(data.clone(), workspace),
    }
}
