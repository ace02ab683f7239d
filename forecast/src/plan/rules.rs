//! What a plan has to keep to: visits, gaps, weeks, teams and the ways between sites.
//!
//! All rules only forbid: whatever is taken out of a plan that keeps them, the rest keeps them.

use crate::calendar::IsoWeek;
use chrono::NaiveDate;

/// A site, by its place in the caller's list, on a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Candidate {
    /// The date.
    pub date: NaiveDate,
    /// The site.
    pub site: usize,
}

/// How far a team may go from one day to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Travel {
    /// Kilometres between sites, `km[a][b]`.
    pub km: Vec<Vec<f64>>,
    /// The farthest that two sites of one team may lie apart on consecutive days.
    pub farthest_km: f64,
}

/// The rules, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Rules {
    pub(super) visits: usize,
    pub(super) least_gap_days: i64,
    pub(super) most_per_week: Option<usize>,
    pub(super) teams: usize,
    travel: Option<Travel>,
}

/// Rules that make no sense.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RulesError {
    /// Nobody would go out.
    #[error("{0} must be 1 or more")]
    Nothing(&'static str),
    /// Distances must be numbers, for each pair of sites.
    #[error("the distances between sites are not a square table of numbers from 0 on")]
    Distances,
}

impl Rules {
    /// So many visits in all, with one team and a visit of a site on any day.
    pub fn new(visits: usize) -> Result<Self, RulesError> {
        if visits == 0 {
            return Err(RulesError::Nothing("the number of visits"));
        }
        Ok(Rules {
            visits,
            least_gap_days: 1,
            most_per_week: None,
            teams: 1,
            travel: None,
        })
    }

    /// At least so many days from one visit of a site to its next.
    pub fn gap(self, days: u32) -> Result<Self, RulesError> {
        if days == 0 {
            return Err(RulesError::Nothing("the days between visits of a site"));
        }
        Ok(Rules {
            least_gap_days: i64::from(days),
            ..self
        })
    }

    /// At most so many visits in an ISO week, all sites together.
    pub fn per_week(self, most: usize) -> Result<Self, RulesError> {
        if most == 0 {
            return Err(RulesError::Nothing("the visits in a week"));
        }
        Ok(Rules {
            most_per_week: Some(most),
            ..self
        })
    }

    /// So many teams, each of which visits one site a day.
    pub fn teams(self, teams: usize) -> Result<Self, RulesError> {
        if teams == 0 {
            return Err(RulesError::Nothing("the number of teams"));
        }
        Ok(Rules { teams, ..self })
    }

    /// With limits to what a team travels.
    pub fn travel(self, travel: Travel) -> Result<Self, RulesError> {
        let sites = travel.km.len();
        let usable = |km: &f64| km.is_finite() && *km >= 0.0;
        let square = travel.km.iter().all(|row| row.len() == sites);
        let numbers = travel.km.iter().flatten().chain([&travel.farthest_km]);
        if !square || !numbers.into_iter().all(usable) {
            return Err(RulesError::Distances);
        }
        Ok(Rules {
            travel: Some(travel),
            ..self
        })
    }

    /// The same with another number of visits.
    pub fn with_visits(&self, visits: usize) -> Result<Self, RulesError> {
        let fresh = Rules::new(visits)?;
        Ok(Rules {
            visits: fresh.visits,
            ..self.clone()
        })
    }

    /// Visits in all.
    pub fn visits(&self) -> usize {
        self.visits
    }
}

/// Candidates under the rules, with the visits that were made before.
#[derive(Debug)]
pub struct Field<'a> {
    candidates: &'a [Candidate],
    made: &'a [Candidate],
    rules: &'a Rules,
    week: Vec<NaiveDate>,
}

impl<'a> Field<'a> {
    /// Of candidates, and visits made or promised.
    pub fn new(candidates: &'a [Candidate], made: &'a [Candidate], rules: &'a Rules) -> Self {
        Field {
            candidates,
            made,
            rules,
            week: candidates.iter().map(|c| monday(c.date)).collect(),
        }
    }

    /// How many candidates there are.
    pub fn len(&self) -> usize {
        self.candidates.len()
    }

    /// Is there none?
    pub fn is_empty(&self) -> bool {
        self.candidates.is_empty()
    }

    /// A candidate.
    pub fn candidate(&self, place: usize) -> Candidate {
        self.candidates[place]
    }

    pub(super) fn rules(&self) -> &Rules {
        self.rules
    }

    /// The Monday of a candidate's week.
    pub(super) fn week(&self, place: usize) -> NaiveDate {
        self.week[place]
    }

    pub(super) fn made(&self) -> &[Candidate] {
        self.made
    }

    /// May a candidate join those chosen?
    pub fn allows(&self, chosen: &[usize], place: usize) -> bool {
        if chosen.len() >= self.rules.visits {
            return false;
        }
        let new = self.candidates[place];
        let others = || {
            let chosen = chosen.iter().map(|c| self.candidates[*c]);
            chosen.chain(self.made.iter().copied())
        };
        let near = |c: Candidate| {
            c.site == new.site && (c.date - new.date).num_days().abs() < self.rules.least_gap_days
        };
        if others().any(near) {
            return false;
        }
        let full = |most: usize| {
            let week = self.week[place];
            others().filter(|c| monday(c.date) == week).count() >= most
        };
        if self.rules.most_per_week.is_some_and(full) {
            return false;
        }
        let on = |date: Option<NaiveDate>| -> Vec<usize> {
            let there = others().filter(|c| Some(c.date) == date);
            there.map(|c| c.site).collect()
        };
        let mut today = on(Some(new.date));
        if today.len() >= self.rules.teams {
            return false;
        }
        today.push(new.site);
        let Some(travel) = &self.rules.travel else {
            return true;
        };
        [new.date.pred_opt(), new.date.succ_opt()]
            .into_iter()
            .all(|d| travel.possible(&today, &on(d), self.rules.teams))
    }
}

fn monday(date: NaiveDate) -> NaiveDate {
    IsoWeek::of(date).monday()
}

impl Travel {
    fn near(&self, a: usize, b: usize) -> bool {
        let km = self.km.get(a).and_then(|row| row.get(b));
        km.is_some_and(|km| *km <= self.farthest_km)
    }

    /// Can so many teams make the visits of two consecutive days? Those of the second day that no
    /// idle team takes need a team each that was near enough; teams are alike, so that days
    /// can be looked at two by two.
    fn possible(&self, one: &[usize], other: &[usize], teams: usize) -> bool {
        let needed = (one.len() + other.len()).saturating_sub(teams);
        needed == 0 || self.pairs(one, other) >= needed
    }

    /// The most pairs of near sites, one of each day: augmenting paths (Kuhn 1955).
    fn pairs(&self, one: &[usize], other: &[usize]) -> usize {
        let mut taken: Vec<Option<usize>> = vec![None; other.len()];
        (0..one.len())
            .filter(|a| {
                let mut seen = vec![false; other.len()];
                self.place(*a, one, other, &mut taken, &mut seen)
            })
            .count()
    }

    fn place(
        &self,
        a: usize,
        one: &[usize],
        other: &[usize],
        taken: &mut [Option<usize>],
        seen: &mut [bool],
    ) -> bool {
        for b in 0..other.len() {
            if seen[b] || !self.near(one[a], other[b]) {
                continue;
            }
            seen[b] = true;
            let free = match taken[b] {
                None => true,
                Some(before) => self.place(before, one, other, taken, seen),
            };
            if free {
                taken[b] = Some(a);
                return true;
            }
        }
        false
    }
}
