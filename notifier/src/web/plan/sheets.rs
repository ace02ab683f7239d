//! Field sheets of a site's planned visits, a leaf for each date to come.

use super::PLANNED;
use crate::guidance::SiteView;
use crate::plan::sheet::{self, Dress};
use crate::plan::{Plan, Planned};
use crate::web::address::Place;
use crate::web::render::{Making, Refusal};
use crate::web::snapshot::ShownSite;

/// The page.
pub(in crate::web) fn page(making: &Making, site: &ShownSite) -> Result<String, Refusal> {
    let id = site.site.id.as_str();
    let view = site.view(&making.snapshot.workspace);
    let view = view.ok_or(Refusal::Absent)?;
    let plans = making.snapshot.plans.as_ref();
    let plans = plans.ok_or_else(|| Refusal::broken("the kept plan cannot be read"))?;
    let today = site.today(making.now);
    let mut of_site = plans.plans.iter().filter_map(|p| here(p, id));
    let mut plan = of_site.next().ok_or(Refusal::Absent)?;
    for other in of_site {
        plan.join(other);
    }
    for visit in &mut plan.visits {
        visit.past |= visit.date < today;
    }
    let to = |place: &Place| making.addresses.to(place);
    let dress = Dress::Served {
        style: to(&Place::SheetStyle),
        trail: vec![
            ("All sites".to_owned(), to(&Place::Home)),
            (site.site.name.clone(), to(&Place::Site(id))),
            (PLANNED.to_owned(), to(&Place::Plan(Some(id)))),
        ],
    };
    let views: [&SiteView; 1] = [&view];
    sheet::page(&plan, &views, &dress).map_err(Refusal::broken)
}

/// A plan's visits to the site alone.
fn here(plan: &Plan, site: &str) -> Option<Plan> {
    let mut plan = plan.clone();
    let place = plan.sites.iter().position(|(id, _)| id == site)?;
    plan.visits.retain(|v| v.site == place);
    plan.sites = vec![plan.sites.swap_remove(place)];
    plan.visits.iter_mut().for_each(|v| v.site = 0);
    (!plan.visits.is_empty()).then_some(plan)
}

impl Plan {
    /// The visits of another plan of the same site among its own.
    fn join(&mut self, other: Plan) {
        let first = self.targets.len();
        self.targets.extend(other.targets);
        let moved = other.visits.into_iter().map(|mut visit: Planned| {
            for p in &mut visit.purpose {
                p.target += first;
            }
            visit
        });
        self.visits.extend(moved);
        self.visits.sort_by_key(|v| v.date);
        self.from = self.from.min(other.from);
        self.to = self.to.max(other.to);
    }
}
