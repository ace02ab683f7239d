//! Which marks separate which members, in which plumages, where.

use super::{CannotTell, LookAlikeSet, Mark, Plumage, Region, Shows, Trust};

/// A member in a plumage.
pub type Seen<'n> = (&'n str, Plumage);

impl Mark {
    /// Does the mark hold in the region?
    pub fn holds_in(&self, region: &Region) -> bool {
        self.regions.is_empty() || self.regions.contains(region)
    }

    /// Does the mark hold in the region in the month, 1..=12?
    pub fn holds(&self, region: &Region, month: u8) -> bool {
        self.holds_in(region) && (self.months.is_empty() || self.months.contains(&month))
    }

    /// Plumages that one of its groups is said of; empty means every plumage.
    pub fn plumages_of<'m>(&'m self, shows: &'m Shows) -> &'m [Plumage] {
        match shows.plumages.is_empty() {
            true => &self.plumages,
            false => &shows.plumages,
        }
    }

    /// What the mark shows on a member in a plumage.
    pub fn on(&self, (species, plumage): Seen<'_>) -> Option<&Shows> {
        self.shows.iter().find(|shows| {
            let worn = Plumage::any_covers(self.plumages_of(shows), plumage);
            worn && shows.members.iter().any(|m| m == species)
        })
    }

    /// Can it be relied on to separate two members in these plumages? A mark that changes with
    /// light separates nothing.
    pub fn separates(&self, a: Seen<'_>, b: Seen<'_>) -> bool {
        self.trust != Trust::Light
            && !self.excepts(a.0, b.0)
            && matches!((self.on(a), self.on(b)), (Some(x), Some(y)) if !std::ptr::eq(x, y))
    }

    fn excepts(&self, a: &str, b: &str) -> bool {
        let pairs = self.not_between.iter();
        pairs
            .map(|(x, y)| (x.as_str(), y.as_str()))
            .any(|pair| pair == (a, b) || pair == (b, a))
    }
}

impl CannotTell {
    /// Is it said of the month, 1..=12?
    pub fn in_month(&self, month: u8) -> bool {
        self.months.is_empty() || self.months.contains(&month)
    }

    /// Is it said of these two members in these plumages?
    pub fn covers(&self, a: Seen<'_>, b: Seen<'_>) -> bool {
        let said_of = |(species, plumage): Seen<'_>| {
            Plumage::any_covers(&self.plumages, plumage)
                && self.members.iter().any(|m| m == species)
        };
        said_of(a) && said_of(b)
    }
}

impl LookAlikeSet {
    /// The marks to rely on between two members in these plumages, in a region in a month, as
    /// written.
    pub fn separating(&self, region: &Region, month: u8, a: Seen<'_>, b: Seen<'_>) -> Vec<&Mark> {
        let here = self.marks.iter().filter(|mark| mark.holds(region, month));
        here.filter(|mark| mark.separates(a, b)).collect()
    }

    /// Gives a member another scientific name wherever the set speaks of it.
    pub(crate) fn rename(&mut self, from: &str, to: &str) {
        let members = self.members.iter_mut().map(|m| &mut m.species);
        let shows = self
            .marks
            .iter_mut()
            .flat_map(|m| &mut m.shows)
            .flat_map(|s| &mut s.members);
        let cannot_tell = self.cannot_tell.iter_mut().flat_map(|c| &mut c.members);
        for name in members
            .chain(shows)
            .chain(cannot_tell)
            .filter(|name| *name == from)
        {
            to.clone_into(name);
        }
        let pairs = self.marks.iter_mut().flat_map(|m| &mut m.not_between);
        for name in pairs.flat_map(|(a, b)| [a, b]).filter(|name| *name == from) {
            to.clone_into(name);
        }
    }
}
