//! What begins in a week at a site: windows that open, and look-alikes that begin to overlap.

use super::Choices;
use crate::digest::WORTH_READING;
use crate::guidance::types::{MemberGuidance, SetGuidance, Stands, WeekGuidance};
use crate::guidance::{self, SiteView};
use chrono::{Days, NaiveDate};
use std::collections::BTreeSet;

/// What begins at a site in the week.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Openings {
    /// Species inside their window that were outside it the week before, with the sets that they
    /// belong to.
    windows: Vec<(String, BTreeSet<String>)>,
    /// Sets of which two members are both likely enough to be found, as they were not the week
    /// before, with their members.
    overlaps: Vec<(String, Vec<String>)>,
}

impl Openings {
    /// What begins at a site in the week that holds the date.
    pub fn of(view: &SiteView, date: NaiveDate) -> Self {
        let before = date.checked_sub_days(Days::new(7)).unwrap_or(date);
        Self::between(&guidance::week(view, before), &guidance::week(view, date))
    }

    /// What is in one week as it was not in the one before it.
    fn between(before: &WeekGuidance, now: &WeekGuidance) -> Self {
        let was = species_that(before, inside);
        // where nobody looked the week before, only what has just come can be said to open
        let opens = |m: &MemberGuidance| {
            inside(m) && (before.watched || m.stands == Some(Stands::Arriving))
        };
        let opened = species_that(now, opens)
            .into_iter()
            .filter(|s| !was.contains(s));
        let windows = opened.map(|species| {
            let holds = |set: &&SetGuidance| set.members.iter().any(|m| m.species == species);
            let sets = now.sets.iter().filter(holds).map(|s| s.id.clone());
            (species.to_owned(), sets.collect())
        });
        let together = |week: &WeekGuidance, id: &str| {
            let set = week.sets.iter().find(|s| s.id == id);
            set.is_some_and(|s| s.chance_together >= WORTH_READING)
        };
        let begun = now
            .sets
            .iter()
            .filter(|s| together(now, &s.id) && !together(before, &s.id));
        let members = |set: &SetGuidance| set.members.iter().map(|m| m.species.clone()).collect();
        Openings {
            windows: windows.collect(),
            overlaps: begun.map(|s| (s.id.clone(), members(s))).collect(),
        }
    }

    /// Species of somebody's choice whose window opens.
    pub fn windows(&self, choices: &Choices) -> Vec<&str> {
        let theirs = self.windows.iter().filter(|(species, sets)| {
            choices.wants_species(species) || sets.iter().any(|s| choices.sets.contains(s))
        });
        theirs.map(|(species, _)| species.as_str()).collect()
    }

    /// Sets of somebody's choice of which two members begin to overlap.
    pub fn overlaps(&self, choices: &Choices) -> Vec<&str> {
        let theirs = self
            .overlaps
            .iter()
            .filter(|(id, members)| choices.wants_set(id, members.iter().map(String::as_str)));
        theirs.map(|(id, _)| id.as_str()).collect()
    }

    /// Whether anything of somebody's choice begins.
    pub fn concern(&self, choices: &Choices) -> bool {
        !self.windows(choices).is_empty() || !self.overlaps(choices).is_empty()
    }
}

/// Whether a species is inside its window. Of one without dates nothing can open.
fn inside(member: &MemberGuidance) -> bool {
    let stands = member.stands.is_some_and(|s| s != Stands::Outside);
    member.recorded && stands
}

fn species_that(week: &WeekGuidance, holds: impl Fn(&MemberGuidance) -> bool) -> BTreeSet<&str> {
    let members = week
        .sets
        .iter()
        .flat_map(|s| &s.members)
        .chain(&week.others);
    let those = members.filter(|m| holds(m));
    those.map(|m| m.species.as_str()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::digest::tests::digests;

    fn choices(sets: &[&str], species: &[&str]) -> Choices {
        let owned = |all: &[&str]| all.iter().map(|s| (*s).to_owned()).collect();
        Choices {
            sets: owned(sets),
            species: owned(species),
            ..Choices::default()
        }
    }

    #[test]
    fn a_window_that_opens_concerns_those_who_chose_the_species_or_its_set() {
        let now = digests::autumn().sites[0].guidance.clone();
        let mut before = now.clone();
        let shown = now.sets.iter().find(|s| s.members.iter().any(inside));
        let shown = shown.expect("a set with a member inside its window");
        let id = shown.id.clone();
        let species = shown
            .members
            .iter()
            .find(|m| inside(m))
            .expect("it")
            .species
            .clone();
        let members = before.sets.iter_mut().flat_map(|s| &mut s.members);
        for member in members.filter(|m| m.species == species) {
            member.stands = Some(Stands::Outside);
        }
        let opened = Openings::between(&before, &now);
        assert_eq!(opened.windows(&Choices::default()), [species.as_str()]);
        assert_eq!(
            opened.windows(&choices(&[], &[&species])),
            [species.as_str()]
        );
        assert_eq!(opened.windows(&choices(&[&id], &[])), [species.as_str()]);
        assert!(!opened.concern(&choices(&["another-set"], &[])));
        assert!(!opened.concern(&choices(&[], &["Passer nemo"])));
        assert!(opened.overlaps(&Choices::default()).is_empty());
        assert_eq!(Openings::between(&now, &now), Openings::default());
    }

    #[test]
    fn look_alikes_that_begin_to_overlap_are_told_once() {
        let now = digests::autumn().sites[0].guidance.clone();
        let mut before = now.clone();
        let mut sets = before.sets.iter_mut();
        let set = sets.find(|s| s.chance_together >= WORTH_READING);
        let set = set.expect("a set worth reading");
        set.chance_together = WORTH_READING / 2.0;
        let (id, member) = (set.id.clone(), set.members[0].species.clone());
        let begun = Openings::between(&before, &now);
        assert_eq!(begun.overlaps(&choices(&[&id], &[])), [id.as_str()]);
        assert_eq!(begun.overlaps(&choices(&[], &[&member])), [id.as_str()]);
        assert!(!begun.concern(&choices(&["another-set"], &[])));
        assert!(!Openings::between(&now, &before).concern(&Choices::default()));
    }
}
