//! What may be told of kept plans to whoever asks later: each as it was when it was kept, and what
//! is left of it when visits, sites or targets are taken out.

use super::{Former, Plan, Planned, Purpose, Rain, Target};
use chrono::Days;
use std::collections::BTreeSet;

/// A plan is forgotten so many days after its last date: by then the next season is planned.
const FORGOTTEN_DAYS: u64 = 366;

/// The plans once another is kept, of which `open` may be told. What it plans anew is taken out of
/// the others, and what its past visits were for is remembered from them.
pub fn after(kept: Vec<Plan>, new: &Plan, open: Option<Plan>) -> Vec<Plan> {
    let open = open.map(|mut open| {
        open.remember(&kept);
        open
    });
    let first = new.today.checked_sub_days(Days::new(FORGOTTEN_DAYS));
    let beside = kept.into_iter().filter_map(|p| p.beside(new));
    let mut plans: Vec<Plan> = beside.chain(open).collect();
    plans.retain(|p| first.is_none_or(|first| p.to >= first));
    plans.sort_by_key(|p| (p.from, p.to));
    plans
}

/// Sums of chances may differ by so much though they should be the same.
const ROUNDING: f64 = 1e-9;

/// Does most of what a visit is worth hang on what may be told? One that was chosen for what is kept
/// back would say by its date alone that there is something then.
pub(super) fn is_chiefly_open(open: f64, whole: f64) -> bool {
    2.0 * open + ROUNDING >= whole
}

/// May a visit be told of where these species may? Of a past one nothing but what it was for is left
/// to judge by: where that is not known, it may not.
fn stays(visit: &Planned, targets: &[Target], keep: &impl Fn(&str) -> bool) -> bool {
    let own = visit.purpose.iter().map(|p| {
        let species = targets[p.target].species.as_str();
        (species, worth(targets)(p))
    });
    let former = visit.former.iter().map(|f| (f.species.as_str(), f.worth));
    let (open, hidden): (Vec<_>, Vec<_>) =
        own.chain(former).partition(|(species, _)| keep(species));
    let sum = |all: &[(&str, f64)]| all.iter().map(|(_, worth)| worth).sum::<f64>();
    let known = !visit.past || !open.is_empty();
    known && is_chiefly_open(sum(&open), sum(&open) + sum(&hidden))
}

/// What hangs on a visit for one of these targets, by its weight.
fn worth(targets: &[Target]) -> impl Fn(&Purpose) -> f64 {
    move |p| targets[p.target].weight * p.lost
}

impl Plan {
    /// Are all sites and targets listed that its visits name by their places?
    pub(super) fn is_sound(&self) -> bool {
        let target = |p: &Purpose| p.target < self.targets.len();
        let sound = |v: &Planned| v.site < self.sites.len() && v.purpose.iter().all(target);
        self.visits.iter().all(sound)
    }

    /// The visit of that site and date.
    pub fn visit(&self, site: &str, date: chrono::NaiveDate) -> Option<&Planned> {
        let mut visits = self.visits.iter();
        visits.find(|v| v.date == date && self.sites[v.site].0 == site)
    }

    /// Is it about that site and date?
    pub fn covers(&self, site: &str, date: chrono::NaiveDate) -> bool {
        (self.from..=self.to).contains(&date) && self.sites.iter().any(|(id, _)| id == site)
    }

    fn remember(&mut self, kept: &[Plan]) {
        for place in 0..self.visits.len() {
            let visit = &self.visits[place];
            if !visit.past || !visit.purpose.is_empty() {
                continue;
            }
            let (site, date) = (self.sites[visit.site].0.as_str(), visit.date);
            let promised = kept.iter().find_map(|p| Some((p, p.visit(site, date)?)));
            if let Some((plan, promised)) = promised {
                let (purpose, former) = plan.was_for(promised, &self.targets);
                let visit = &mut self.visits[place];
                (visit.purpose, visit.former) = (purpose, former);
            }
        }
    }

    /// What a visit of this plan was for: those of another's targets, and what else.
    fn was_for(&self, visit: &Planned, targets: &[Target]) -> (Vec<Purpose>, Vec<Former>) {
        let (mut purpose, mut former) = (Vec::new(), visit.former.clone());
        for own in &visit.purpose {
            let species = &self.targets[own.target].species;
            match targets.iter().position(|t| t.species == *species) {
                Some(target) => purpose.push(Purpose {
                    target,
                    ..own.clone()
                }),
                None => former.push(Former {
                    species: species.clone(),
                    worth: worth(&self.targets)(own),
                }),
            }
        }
        (purpose, former)
    }

    /// What is left of an earlier plan beside a new one.
    fn beside(mut self, new: &Plan) -> Option<Plan> {
        let sites = self.sites.clone();
        self.keep_visits(|v| !new.covers(&sites[v.site].0, v.date));
        (!self.visits.is_empty()).then_some(self)
    }

    fn keep_visits(&mut self, keep: impl Fn(&Planned) -> bool) {
        self.parted |= self.visits.iter().any(|v| !v.past && !keep(v));
        self.visits.retain(keep);
        if self.parted {
            self.forget_the_whole();
        }
    }

    /// Forgets what was worked out over all visits and all dates to choose from, the order of the
    /// targets among it, and targets that no visit left is for.
    fn forget_the_whole(&mut self) {
        (self.at_most, self.sure) = (None, None);
        (self.candidates, self.unwatched) = (0, 0);
        for target in &mut self.targets {
            (target.found, target.needed, target.out_of_reach) = (None, None, false);
        }
        let purposes = self.visits.iter().flat_map(|v| &v.purpose);
        let named: BTreeSet<usize> = purposes.map(|p| p.target).collect();
        let mut named: Vec<usize> = named.into_iter().collect();
        named.sort_by(|a, b| self.targets[*a].name.cmp(&self.targets[*b].name));
        for purpose in self.visits.iter_mut().flat_map(|v| &mut v.purpose) {
            let place = named.iter().position(|old| *old == purpose.target);
            purpose.target = place.unwrap_or_default();
        }
        self.targets = named.iter().map(|i| self.targets[*i].clone()).collect();
    }

    /// With these sites alone, under the ids and names that they are told by. Of the others nothing
    /// is left that was worked out from their counts, not even the order of what a visit is for.
    pub fn keep_sites(&mut self, told: impl Fn(&str) -> Option<(String, String)>) {
        let all: Vec<_> = self.sites.iter().map(|(id, _)| told(id)).collect();
        self.keep_visits(|v| all[v.site].is_some());
        let mut left = 0;
        let place = |site: &Option<_>| {
            left += usize::from(site.is_some());
            left.saturating_sub(1)
        };
        let places: Vec<usize> = all.iter().map(place).collect();
        for visit in &mut self.visits {
            visit.site = places[visit.site];
        }
        let are_all = all.iter().all(Option::is_some);
        self.sites = all.into_iter().flatten().collect();
        if !are_all {
            self.parted = true;
            self.forget_the_whole();
            self.targets.iter_mut().for_each(|t| t.few_records = false);
            for visit in &mut self.visits {
                visit.lost = 0.0;
                visit.purpose.iter_mut().for_each(|p| p.lost = 0.0);
                let likelier = |a: &Purpose, b: &Purpose| b.chance.total_cmp(&a.chance);
                visit.purpose.sort_by(likelier);
            }
        }
    }

    /// With these species alone. What the others gave counts no more, nothing is said of how near
    /// the best it is, since it was chosen for them too, and visits that were chiefly for them go.
    pub fn keep_species(&mut self, keep: impl Fn(&str) -> bool) {
        let targets = self.targets.clone();
        self.keep_visits(|v| stays(v, &targets, &keep));
        for visit in &mut self.visits {
            visit.former.retain(|f| keep(&f.species));
        }
        if targets.iter().any(|t| !keep(&t.species)) {
            self.keep_targets(|t| keep(&t.species));
        }
    }

    fn keep_targets(&mut self, keep: impl Fn(&Target) -> bool) {
        let mut left = 0..;
        let place = |t: &Target| keep(t).then(|| left.next().unwrap_or_default());
        let places: Vec<Option<usize>> = self.targets.iter().map(place).collect();
        self.targets.retain(&keep);
        let targets = &self.targets;
        for visit in &mut self.visits {
            let moved = |mut p: Purpose| {
                p.target = places[p.target]?;
                Some(p)
            };
            let purpose = std::mem::take(&mut visit.purpose);
            visit.purpose = purpose.into_iter().filter_map(moved).collect();
            if !visit.past {
                visit.lost = visit.purpose.iter().map(worth(targets)).sum();
            }
            // it was chosen for all of them, and what is best for the rest is not known any more
            visit.rain = Rain::NotAsked;
        }
        let open = self.targets.iter().filter(|t| t.found.is_none());
        self.expected = open.map(|t| t.weight * t.chance).sum();
        (self.at_most, self.sure) = (None, None);
    }
}
