//! Of kept plans what everybody may see: no withheld site, no sensitive species, coarsened sites
//! under another name and without a time, since one that begins at sunrise tells where it lies.

use crate::plan::kept::{Entry, Kept};
use crate::plan::start::Start;
use crate::plan::{Plan, Planned, Rain};
use chrono::NaiveDate;
use config::sensitive::Sensitive;
use config::settings::{Site, Workspace};

/// Kept plans as shown.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ShownPlans {
    /// Visits planned, and those dropped, in order of date; sites by the ids they are shown by.
    pub entries: Vec<Entry>,
    /// What is told of them.
    pub plans: Vec<Plan>,
}

impl ShownPlans {
    /// The plans as shown. Settings are the workspace's own, sites those shown, each after the id
    /// that the store knows it by.
    pub(in crate::web) fn of(kept: &Kept, workspace: &Workspace, sites: &[(&str, Site)]) -> Self {
        let plans = kept.plans.iter();
        let plans = plans.map(|plan| told(plan.clone(), workspace, sites));
        let plans: Vec<Plan> = plans.filter(|p| !p.visits.is_empty()).collect();
        let hides = hides(workspace);
        let entry = |entry: &Entry| shown(entry, hides, &plans, sites);
        ShownPlans {
            entries: kept.entries.iter().filter_map(entry).collect(),
            plans,
        }
    }

    /// Is anything planned at the site, or was?
    pub fn has(&self, site: &str) -> bool {
        let mut entries = self.entries.iter();
        entries.any(|e| !e.cancelled && e.site == site)
    }

    /// Plans with a visit to the site.
    pub fn of_site(&self, site: &str) -> impl Iterator<Item = &Plan> {
        let has = move |p: &&Plan| p.visits.iter().any(|v| p.sites[v.site].0 == site);
        self.plans.iter().filter(has)
    }

    /// The plan of that visit, and the visit.
    pub fn visit(&self, site: &str, date: NaiveDate) -> Option<(&Plan, &Planned)> {
        find(&self.plans, site, date)
    }
}

fn find<'p>(plans: &'p [Plan], site: &str, date: NaiveDate) -> Option<(&'p Plan, &'p Planned)> {
    let mut plans = plans.iter();
    plans.find_map(|plan| Some((plan, plan.visit(site, date)?)))
}

/// Is there anything that a visit may have been for and nobody may know of?
pub fn hides(workspace: &Workspace) -> bool {
    let mut sites = workspace.sites.iter();
    workspace.species.iter().any(|s| s.sensitive.is_some())
        || sites.any(|s| s.sensitive == Some(Sensitive::Withhold))
}

/// Is the species one that nobody may know of?
pub fn is_sensitive(workspace: &Workspace, species: &str) -> bool {
    let mut known = workspace.species.iter();
    known.any(|s| s.scientific == species && s.sensitive.is_some())
}

fn told(mut plan: Plan, workspace: &Workspace, sites: &[(&str, Site)]) -> Plan {
    if hides(workspace) {
        plan.keep_species(|species| !is_sensitive(workspace, species));
    }
    for target in &mut plan.targets {
        target.name = workspace.shown_name(&target.species).to_owned();
    }
    let site = |id: &str| Some(&sites.iter().find(|(own, _)| *own == id)?.1);
    for visit in &mut plan.visits {
        if site(&plan.sites[visit.site].0).is_some_and(|s| s.sensitive.is_some()) {
            visit.start = Start::untold();
        }
        // why no date stands in may lie in dates that nobody may know of
        if matches!(visit.rain, Rain::None(_)) && hides(workspace) {
            visit.rain = Rain::NotAsked;
        }
    }
    plan.keep_sites(|id| site(id).map(|s| (s.id.clone(), s.name.clone())));
    plan
}

/// An entry as shown; None where nobody may know of it. Where anything is kept back, an entry that no
/// plan tells of, or not any more, may have been for that alone: its very date would tell.
fn shown(entry: &Entry, hides: bool, plans: &[Plan], sites: &[(&str, Site)]) -> Option<Entry> {
    let (_, site) = sites.iter().find(|(own, _)| *own == entry.site)?;
    let told = find(plans, &site.id, entry.date).filter(|_| !entry.cancelled);
    if hides && told.is_none() {
        return None;
    }
    let words = told.map(|(plan, visit)| plan.open_words(visit));
    let shown = Entry {
        site: site.id.clone(),
        words: words.unwrap_or_default(),
        ..entry.clone()
    };
    Some(match site.sensitive {
        Some(_) => shown.without_time(),
        None => shown,
    })
}
