//! The visits of a plan with all that is told of them.

use super::choosing::{Choice, PlanSite};
use super::ground::Ground;
use super::rain::{Moving, Rain};
use super::start::start;
use super::tides::Tides;
use super::{PlanError, Planned, Purpose, Request};
use config::settings::PlanSettings;
use forecast::plan::Candidate;

/// A visit is for the targets whose chance falls by at least this much without it ...
const FOR_AT_LEAST: f64 = 0.005;
/// ... and for those that may well be found on it, though other visits would find them too.
const MAY_BE_FOUND: f64 = forecast::stands::OUTSIDE_BELOW;

/// What visits are told from.
pub(super) struct Telling<'a> {
    pub(super) request: &'a Request,
    pub(super) settings: &'a PlanSettings,
    pub(super) sites: &'a [PlanSite<'a>],
    pub(super) ground: &'a Ground,
    pub(super) choice: &'a Choice,
    pub(super) tides: Option<&'a Tides>,
}

impl Telling<'_> {
    /// Those that are past, then those chosen.
    pub(super) fn visits(&self) -> Result<Vec<Planned>, PlanError> {
        let past = self.ground.promised.iter().map(|c| self.past(*c));
        let places = self.choice.places.iter();
        let chosen = places.map(|place| self.chosen(*place));
        past.chain(chosen).collect()
    }

    fn past(&self, at: Candidate) -> Result<Planned, PlanError> {
        Ok(Planned {
            site: at.site,
            date: at.date,
            past: true,
            start: self.start(at)?,
            purpose: Vec::new(),
            lost: 0.0,
            rain: Rain::NotAsked,
            former: Vec::new(),
        })
    }

    fn chosen(&self, place: usize) -> Result<Planned, PlanError> {
        let (ground, places) = (self.ground, &self.choice.places);
        let at = ground.candidates[place];
        let others = places.iter().copied().filter(|p| *p != place);
        let rest: Vec<usize> = others.collect();
        let (whole, without) = (ground.reach.chances(places), ground.reach.chances(&rest));
        let moving = Moving {
            request: self.request,
            sites: self.sites,
            ground,
            places,
            rules: self.choice.rules.as_ref(),
        };
        Ok(Planned {
            site: at.site,
            date: at.date,
            past: false,
            start: self.start(at)?,
            purpose: purpose(&whole, &without, &ground.single[place]),
            lost: ground.reach.value(places) - ground.reach.value(&rest),
            rain: moving.rain(place),
            former: Vec::new(),
        })
    }

    fn start(&self, at: Candidate) -> Result<super::start::Start, PlanError> {
        let site = self.sites[at.site].view.site;
        start(site, at.date, self.settings, self.tides)
    }
}

/// The targets that a visit may find, those first whose chance falls most without it.
fn purpose(whole: &[Option<f64>], without: &[Option<f64>], single: &[f64]) -> Vec<Purpose> {
    let both = whole.iter().zip(without).enumerate();
    let mut purpose: Vec<Purpose> = both
        .filter_map(|(target, (whole, without))| {
            let lost = (*whole)? - (*without)?;
            let told = lost >= FOR_AT_LEAST || single[target] >= MAY_BE_FOUND;
            told.then(|| Purpose {
                target,
                chance: single[target],
                lost,
            })
        })
        .collect();
    let rank = |p: &Purpose| (-p.lost, -p.chance);
    purpose.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    purpose
}
