//! From the request to the plan: the dates are chosen, then told of.

use super::ground::Ground;
use super::kept::Entry;
use super::targets::{Wanted, told};
use super::tides::Tides;
use super::visits::Telling;
use super::{Enough, Plan, PlanError, Request};
use crate::guidance::SiteView;
use crate::words;
use chrono::{Months, NaiveDate};
use config::settings::PlanSettings;
use forecast::plan::sure::enough;
use forecast::plan::{Rules, choose};
use ingest::store::Sighting;

/// A site of the plan.
pub struct PlanSite<'a> {
    /// What guidance works from.
    pub view: SiteView<'a>,
    /// What was found on targeted visits.
    pub targeted: &'a [Sighting],
    /// Dates of visits before the day of planning, whatever they were made for.
    pub visited: Vec<NaiveDate>,
}

/// With this many visits at most a plan is made that has to be sure.
const MOST_VISITS: usize = 200;

/// Makes the plan; `kept` is what was planned before.
///
/// # Errors
/// [`PlanError`] where the request makes no sense, or leaves no date.
pub fn plan(
    request: &Request,
    settings: &PlanSettings,
    sites: &[PlanSite],
    targets: &[Wanted],
    tides: Option<&Tides>,
    kept: &[Entry],
) -> Result<Plan, PlanError> {
    check(request, sites, targets)?;
    let ground = Ground::of(request, sites, targets, kept)?;
    let choice = Choice::of(request, sites, &ground)?;
    Telling {
        request,
        settings,
        sites,
        ground: &ground,
        choice: &choice,
        tides,
    }
    .plan(targets)
}

impl Telling<'_> {
    /// The whole plan.
    pub(super) fn plan(&self, targets: &[Wanted]) -> Result<Plan, PlanError> {
        let (request, sites, ground, choice) = (self.request, self.sites, self.ground, self.choice);
        let site = |s: &PlanSite| (s.view.site.id.clone(), s.view.site.name.clone());
        let mut plan = Plan {
            from: request.from,
            to: request.to,
            today: request.today,
            sites: sites.iter().map(site).collect(),
            visits: self.visits()?,
            targets: told(sites, targets, ground, choice),
            expected: ground.reach.value(&choice.places),
            at_most: choice.at_most,
            sure: choice.sure,
            unwatched: ground.unwatched,
            candidates: ground.candidates.len(),
            parted: false,
        };
        in_order(&mut plan);
        Ok(plan)
    }
}

fn check(request: &Request, sites: &[PlanSite], targets: &[Wanted]) -> Result<(), PlanError> {
    let (from, to) = (request.from, request.to);
    if to < from {
        return Err(PlanError::Backwards { from, to });
    }
    let anniversary = from.checked_add_months(Months::new(12));
    if anniversary.is_some_and(|a| to >= a) {
        return Err(PlanError::TooLong { from, to });
    }
    if targets.is_empty() {
        let names: Vec<&str> = sites.iter().map(|s| s.view.site.name.as_str()).collect();
        return Err(PlanError::NoTarget(words::list(&names)));
    }
    Ok(())
}

/// What was chosen.
#[derive(Default)]
pub(super) struct Choice {
    /// Places among the candidates.
    pub(super) places: Vec<usize>,
    pub(super) at_most: Option<f64>,
    pub(super) sure: Option<f64>,
    pub(super) out_of_reach: Vec<usize>,
    /// None where no visit is left to plan.
    pub(super) rules: Option<Rules>,
}

impl Choice {
    fn of(request: &Request, sites: &[PlanSite], ground: &Ground) -> Result<Self, PlanError> {
        if ground.candidates.is_empty() && ground.promised.is_empty() {
            return Err(no_date(request, ground));
        }
        let km = distances(sites);
        match request.enough {
            Enough::Visits(visits) => match visits.saturating_sub(ground.promised.len()) {
                0 => Ok(Choice {
                    at_most: Some(0.0),
                    ..Choice::default()
                }),
                left => Ok(Choice::best(ground, request.rules(left, km)?)),
            },
            Enough::Sure(sure) => Ok(Choice::few(ground, request.rules(MOST_VISITS, km)?, sure)),
        }
    }

    fn best(ground: &Ground, rules: Rules) -> Self {
        let best = choose(&ground.reach, &ground.candidates, &ground.made, &rules);
        Choice {
            at_most: Some(best.at_most),
            places: best.places,
            rules: Some(rules),
            ..Choice::default()
        }
    }

    fn few(ground: &Ground, rules: Rules, sure: f64) -> Self {
        let few = enough(
            &ground.reach,
            &ground.candidates,
            &ground.made,
            &rules,
            sure,
        );
        Choice {
            places: few.places,
            sure: Some(sure),
            out_of_reach: few.out_of_reach,
            rules: Some(rules),
            ..Choice::default()
        }
    }
}

fn no_date(request: &Request, ground: &Ground) -> PlanError {
    let why = match (request.to < request.today, ground.unwatched) {
        (true, _) => format!("today is {}, after the last of them", request.today),
        (_, 0) => "the days of the week and the days out leave none".to_owned(),
        _ => "the sites are not watched then".to_owned(),
    };
    PlanError::NoDate {
        from: request.from,
        to: request.to,
        why,
    }
}

/// How far the sites lie apart, in km.
pub(super) fn distances(sites: &[PlanSite]) -> Vec<Vec<f64>> {
    let place = |s: &PlanSite| (s.view.site.latitude, s.view.site.longitude);
    let row = |a: &PlanSite| {
        let to = |b: &PlanSite| ingest::distance_km(place(a), place(b));
        sites.iter().map(to).collect()
    };
    sites.iter().map(row).collect()
}

/// Visits by date, targets by chance with those found last; purposes keep their targets.
fn in_order(plan: &mut Plan) {
    plan.visits.sort_by_key(|v| (v.date, v.site));
    let mut order: Vec<usize> = (0..plan.targets.len()).collect();
    order.sort_by(|a, b| {
        let (a, b) = (&plan.targets[*a], &plan.targets[*b]);
        let found = a.found.is_some().cmp(&b.found.is_some());
        let chance = b.chance.total_cmp(&a.chance);
        found.then(chance).then_with(|| a.name.cmp(&b.name))
    });
    let mut place = vec![0; order.len()];
    let moved = order.iter().enumerate();
    moved.for_each(|(new, old)| place[*old] = new);
    plan.targets = order.iter().map(|i| plan.targets[*i].clone()).collect();
    for purpose in plan.visits.iter_mut().flat_map(|v| &mut v.purpose) {
        purpose.target = place[purpose.target];
    }
}
