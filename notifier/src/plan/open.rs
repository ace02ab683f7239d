//! A plan as everybody may be told of it, where sites or species of it are kept back: its dates stay
//! as they were chosen, and what they are worth is worked out anew from what may be known.

use super::choosing::{Choice, PlanSite};
use super::ground::Ground;
use super::kept::Entry;
use super::targets::Wanted;
use super::tides::Tides;
use super::told::is_chiefly_open;
use super::visits::Telling;
use super::{Plan, PlanError, Planned, Rain, Request};
use config::settings::PlanSettings;
use forecast::plan::Candidate;

/// What a plan was made from, without what is kept back.
pub struct Open<'a> {
    /// What was asked for.
    pub request: &'a Request,
    /// The workspace's own.
    pub settings: &'a PlanSettings,
    /// The sites that may be told of, without species that may not.
    pub sites: &'a [PlanSite<'a>],
    /// The targets that may be told of.
    pub targets: &'a [Wanted],
    /// The tides.
    pub tides: Option<&'a Tides>,
    /// What was planned before.
    pub kept: &'a [Entry],
    /// What was told of it.
    pub told: &'a [Plan],
}

impl Open<'_> {
    /// The plan; None where nothing of it may be told.
    ///
    /// # Errors
    /// Those of planning.
    pub fn plan(&self, whole: &Plan) -> Result<Option<Plan>, PlanError> {
        if self.sites.is_empty() || self.targets.is_empty() {
            return Ok(None);
        }
        let ground = Ground::of(self.request, self.sites, self.targets, self.kept)?;
        let to_come = whole.visits.iter().filter(|v| !v.past);
        let places = to_come.filter_map(|v| self.place(&ground, whole, v, v.date));
        let choice = Choice {
            places: places.collect(),
            ..Choice::default()
        };
        let telling = Telling {
            request: self.request,
            settings: self.settings,
            sites: self.sites,
            ground: &ground,
            choice: &choice,
            tides: self.tides,
        };
        let mut open = telling.plan(self.targets)?;
        self.rain(&mut open, whole, &ground, &choice.places);
        let hidden = whole.targets.len() > open.targets.len();
        if hidden {
            let ids: Vec<String> = open.sites.iter().map(|(id, _)| id.clone()).collect();
            let told = |v: &Planned| {
                let mut plans = self.told.iter();
                plans.any(|p| p.visit(&ids[v.site], v.date).is_some())
            };
            let was = |v: &Planned| whole.visit(&ids[v.site], v.date).map_or(0.0, |w| w.lost);
            open.visits.retain(|v| match v.past {
                true => told(v),
                false => is_chiefly_open(v.lost, was(v)),
            });
        }
        Ok(Some(open))
    }

    /// The candidate of a visit's site on a date.
    fn place(
        &self,
        ground: &Ground,
        whole: &Plan,
        visit: &Planned,
        date: chrono::NaiveDate,
    ) -> Option<usize> {
        let id = &whole.sites[visit.site].0;
        let site = self.sites.iter().position(|s| s.view.site.id == *id)?;
        let wanted = Candidate { date, site };
        ground.candidates.iter().position(|c| *c == wanted)
    }

    /// The dates to go instead stay too.
    fn rain(&self, open: &mut Plan, whole: &Plan, ground: &Ground, places: &[usize]) {
        let value = ground.reach.value(places);
        let ids: Vec<String> = open.sites.iter().map(|(id, _)| id.clone()).collect();
        for told in open.visits.iter_mut().filter(|v| !v.past) {
            let Some(visit) = whole.visit(&ids[told.site], told.date) else {
                continue;
            };
            told.rain = match visit.rain {
                Rain::Date(date, _) => {
                    let place = |date| self.place(ground, whole, visit, date);
                    match place(visit.date).zip(place(date)) {
                        None => Rain::NotAsked,
                        Some((from, to)) => {
                            let moved = |p: &usize| if *p == from { to } else { *p };
                            let moved: Vec<usize> = places.iter().map(moved).collect();
                            Rain::Date(date, value - ground.reach.value(&moved))
                        }
                    }
                }
                other => other,
            };
        }
    }
}
