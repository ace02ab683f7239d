//! A plan as everybody may be told of it, where sites or species of it are kept back: its dates stay
//! as they were chosen, and what they are worth is worked out anew from what may be known.

use super::choosing::{Choice, PlanSite, distances};
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
    /// The plan; None where nothing of it may be told. Which visits are told of is settled first, so
    /// that nothing that is said of them, or of all together, counts the others.
    ///
    /// # Errors
    /// Those of planning.
    pub fn plan(&self, whole: &Plan) -> Result<Option<Plan>, PlanError> {
        if self.sites.is_empty() || self.targets.is_empty() {
            return Ok(None);
        }
        let ground = Ground::of(self.request, self.sites, self.targets, &self.told_before())?;
        let places = self.places(&ground, whole);
        // no more visits than there are: the rules choose rain dates alone
        let most = places.len().max(1);
        let choice = Choice {
            rules: Some(self.request.rules(most, distances(self.sites))?),
            places,
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
        rain(&mut open, whole);
        Ok(Some(open))
    }

    /// What was planned before and told of.
    fn told_before(&self) -> Vec<Entry> {
        let told = |e: &&Entry| {
            let mut plans = self.told.iter();
            plans.any(|p| p.visit(&e.site, e.date).is_some())
        };
        self.kept.iter().filter(told).cloned().collect()
    }

    /// Candidates of the visits to come that are told of: those that are chiefly for what may be.
    fn places(&self, ground: &Ground, whole: &Plan) -> Vec<usize> {
        let to_come = whole.visits.iter().filter(|v| !v.past);
        let worth = |v: &Planned| Some((self.place(ground, whole, v)?, v.lost));
        let all: Vec<(usize, f64)> = to_come.filter_map(worth).collect();
        let places: Vec<usize> = all.iter().map(|(place, _)| *place).collect();
        let value = ground.reach.value(&places);
        let lost = |place: usize| {
            let rest = places.iter().copied().filter(|p| *p != place);
            value - ground.reach.value(&rest.collect::<Vec<_>>())
        };
        let told = all
            .iter()
            .filter(|(place, was)| is_chiefly_open(lost(*place), *was));
        told.map(|(place, _)| *place).collect()
    }

    /// The candidate of a visit.
    fn place(&self, ground: &Ground, whole: &Plan, visit: &Planned) -> Option<usize> {
        let id = &whole.sites[visit.site].0;
        let site = self.sites.iter().position(|s| s.view.site.id == *id)?;
        let wanted = Candidate {
            date: visit.date,
            site,
        };
        ground.candidates.iter().position(|c| *c == wanted)
    }
}

/// A date to go instead is told of where it is the one that would be chosen for what may be known:
/// another than those who go have would mislead, and theirs may have been chosen for what may not.
fn rain(open: &mut Plan, whole: &Plan) {
    let ids: Vec<String> = open.sites.iter().map(|(id, _)| id.clone()).collect();
    for told in &mut open.visits {
        let own = whole.visit(&ids[told.site], told.date);
        let own = own.and_then(|v| v.rain.date()).map(|(date, _)| date);
        let open = told.rain.date().map(|(date, _)| date);
        if open.is_none() || open != own {
            told.rain = Rain::NotAsked;
        }
    }
}
