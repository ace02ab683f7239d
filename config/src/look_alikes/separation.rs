//! Which marks separate which members, in which plumages, where.

use super::{CannotTell, LookAlikeSet, Mark, Plumage, Region, Shows, Trust};

/// A member in a plumage.
pub type Seen<'n> = (&'n str, Plumage);

impl Mark {
    /// Does the mark hold in the region?
    pub fn holds_in(&self, region: &Region) -> bool {
        self.regions.is_empty() || self.regions.contains(region)
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
            let plumages = self.plumages_of(shows);
            let worn = plumages.is_empty() || plumages.contains(&plumage);
            worn && shows.members.iter().any(|m| m == species)
        })
    }

    /// Can it be relied on to separate two members in these plumages? A mark that changes with
    /// light separates nothing.
    pub fn separates(&self, a: Seen<'_>, b: Seen<'_>) -> bool {
        self.trust != Trust::Light
            && matches!((self.on(a), self.on(b)), (Some(x), Some(y)) if !std::ptr::eq(x, y))
    }
}

impl CannotTell {
    /// Is it said of these two members in these plumages?
    pub fn covers(&self, a: Seen<'_>, b: Seen<'_>) -> bool {
        let said_of = |(species, plumage): Seen<'_>| {
            let worn = self.plumages.is_empty() || self.plumages.contains(&plumage);
            worn && self.members.iter().any(|m| m == species)
        };
        said_of(a) && said_of(b)
    }
}

impl LookAlikeSet {
    /// The marks to rely on between two members in these plumages in a region, as written.
    pub fn separating(&self, region: &Region, a: Seen<'_>, b: Seen<'_>) -> Vec<&Mark> {
        let here = self.marks.iter().filter(|mark| mark.holds_in(region));
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
    }
}
