//! A look-alike set as a lesson: what of it holds in a region and month, and a key through it.

pub mod key;
mod page;

pub use page::{bound_to, mark_heading, months, page, when};

use crate::guidance::SiteView;
use crate::words;
use config::look_alikes::{
    CannotTell, LookAlikeSet, Mark, Member, Plumage, PlumageMonths, Region, Shows, Trust,
};
use std::collections::BTreeMap;

/// A set with the place and time that it is asked for.
pub struct Lesson<'a> {
    /// The set.
    pub set: &'a LookAlikeSet,
    /// Where; None for every region that its members are described for.
    pub region: Option<Region>,
    /// Month, 1..=12; None for the whole year.
    pub month: Option<u8>,
    /// Names to show by scientific name; the set's English ones stand in.
    pub names: BTreeMap<String, String>,
}

/// A group of members that show the same.
pub struct Group<'a> {
    /// The members that are about, as they are called.
    pub names: Vec<&'a str>,
    /// Their scientific names.
    pub species: Vec<&'a str>,
    /// Where each stands among [`Lesson::about`].
    pub places: Vec<usize>,
    /// As the set says it.
    pub shows: &'a Shows,
}

impl<'a> Lesson<'a> {
    /// A set where a site lies, in a month or through the year, under the names shown there.
    pub fn at(view: &SiteView, set: &'a LookAlikeSet, month: Option<u8>) -> Self {
        let names = set.members.iter();
        let names = names.map(|m| (m.species.clone(), view.shown_name(&m.species)));
        Lesson {
            set,
            region: Some(view.site.region.clone()),
            month,
            names: names.collect(),
        }
    }

    /// Months in which the mark parts members that are about there.
    pub fn months_of_use(&self, mark: &Mark) -> Vec<u8> {
        let of_use = |month: &u8| {
            let lesson = Lesson {
                set: self.set,
                region: self.region.clone(),
                month: Some(*month),
                names: BTreeMap::new(),
            };
            let marks = lesson.trusted();
            marks.iter().any(|(known, _)| std::ptr::eq(*known, mark))
        };
        (1..=12).filter(of_use).collect()
    }

    /// Who has reviewed the marks and where they come from, plainly.
    pub fn review(&self) -> String {
        let set = self.set;
        if set.marks.is_empty() {
            return "No marks are written down for this set.".to_owned();
        }
        let said = set.review.trim();
        let review = match said.is_empty() || said.eq_ignore_ascii_case("author only") {
            true => "Nobody but their author has reviewed these marks.".to_owned(),
            false => format!("These marks were reviewed: {}", words::stop(said)),
        };
        let source = words::stop(&set.source);
        format!("{review} Where they come from: {source}")
    }

    /// What a member is called.
    pub fn name(&'a self, species: &'a str) -> &'a str {
        let own = self.names.get(species);
        let english = || self.set.member(species)?.names.get("en");
        own.or_else(english).map_or(species, String::as_str)
    }

    /// Members that are about there and then, as the set lists them, with their plumages.
    pub fn about(&self) -> Vec<(&'a Member, Vec<&'a PlumageMonths>)> {
        let seen = |p: &&PlumageMonths| {
            self.region.as_ref().is_none_or(|r| p.region == *r)
                && self.month.is_none_or(|m| p.months.contains(&m))
        };
        let of = |m: &'a Member| (m, m.plumages.iter().filter(seen).collect::<Vec<_>>());
        let all = self.set.members.iter().map(of);
        all.filter(|(_, plumages)| !plumages.is_empty()).collect()
    }

    /// Names of the members that are not.
    pub fn absent(&'a self) -> Vec<&'a str> {
        let about = self.about();
        let here = |m: &&Member| about.iter().any(|(a, _)| a.species == m.species);
        let absent = self.set.members.iter().filter(|m| !here(m));
        absent.map(|m| self.name(&m.species)).collect()
    }

    /// Marks to trust there and then, most trusted first, each with two groups or more.
    pub fn trusted(&'a self) -> Vec<(&'a Mark, Vec<Group<'a>>)> {
        let mut marks = self.marks(|trust| trust != Trust::Light, 2);
        marks.sort_by_key(|(mark, _)| mark.trust);
        marks
    }

    /// What changes with light.
    pub fn not_to_rely_on(&'a self) -> Vec<(&'a Mark, Vec<Group<'a>>)> {
        self.marks(|trust| trust == Trust::Light, 1)
    }

    /// What cannot be told apart there and then, of the members that are about.
    pub fn cannot_tell(&self) -> Vec<&'a CannotTell> {
        let about = self.about();
        let concerned = |c: &&CannotTell| {
            let worn = |plumages: &[&PlumageMonths]| {
                let mut worn = plumages.iter().map(|p| p.plumage);
                worn.any(|p| Plumage::any_covers(&c.plumages, p))
            };
            let named = |m: &Member| c.members.contains(&m.species);
            about.iter().filter(|(m, p)| named(m) && worn(p)).count() >= 2
        };
        let now = |c: &&CannotTell| self.month.is_none_or(|m| c.in_month(m));
        let all = self.set.cannot_tell.iter();
        all.filter(now).filter(concerned).collect()
    }

    fn marks(&'a self, trust: fn(Trust) -> bool, least: usize) -> Vec<(&'a Mark, Vec<Group<'a>>)> {
        let here = |mark: &&Mark| {
            trust(mark.trust)
                && self.region.as_ref().is_none_or(|r| mark.holds_in(r))
                && self
                    .month
                    .is_none_or(|m| mark.months.is_empty() || mark.months.contains(&m))
        };
        let marks = self.set.marks.iter().filter(here);
        let grouped = marks.map(|mark| (mark, self.groups(mark)));
        grouped.filter(|(_, g)| g.len() >= least).collect()
    }

    /// The groups of a mark with the members that are about in a plumage that they speak of.
    fn groups(&'a self, mark: &'a Mark) -> Vec<Group<'a>> {
        let about = self.about();
        let group = |shows: &'a Shows| {
            let said_of = mark.plumages_of(shows);
            let in_it = |(_, (m, worn)): &(usize, &(&Member, Vec<&PlumageMonths>))| {
                shows.members.contains(&m.species)
                    && worn.iter().any(|p| Plumage::any_covers(said_of, p.plumage))
            };
            let found = about.iter().enumerate().filter(in_it);
            let found: Vec<(usize, &'a str)> = found
                .map(|(place, (m, _))| (place, m.species.as_str()))
                .collect();
            Group {
                names: found.iter().map(|(_, s)| self.name(s)).collect(),
                species: found.iter().map(|(_, s)| *s).collect(),
                places: found.iter().map(|(place, _)| *place).collect(),
                shows,
            }
        };
        let groups = mark.shows.iter().map(group);
        groups.filter(|g| !g.names.is_empty()).collect()
    }
}
