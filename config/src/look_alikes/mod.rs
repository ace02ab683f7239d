//! Look-alike sets: members, plumages by region and month, and the marks that separate them.

mod advice;
mod check;
mod pair_rule;
mod plumage;
mod proportions;
mod read;
pub mod regions;
mod separation;
mod shipped;
mod traps;
mod words;

pub use pair_rule::Unseparated;
pub use plumage::Plumage;
pub use proportions::{Proportions, TailShape};
pub use read::parse_set;
pub use separation::Seen;
pub use shipped::{is_shipped, shipped};
pub use traps::{Trap, TrapKind};

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Part of the world for which plumages and months are stated, e.g. `western-palearctic`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Region(pub String);

/// How far a mark can be trusted, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Trust {
    /// Shape and proportion.
    Structure,
    /// Plumage pattern and colour of bare parts.
    Pattern,
    /// Call and song.
    Voice,
    /// What the bird does.
    Behaviour,
    /// Changes with light, distance, wear or posture: what not to rely on.
    Light,
}

/// A set of species that are easily taken for one another.
#[derive(Debug, Clone, PartialEq)]
pub struct LookAlikeSet {
    /// Short name used in commands.
    pub id: String,
    /// Title in words.
    pub title: String,
    /// Where the knowledge comes from.
    pub source: String,
    /// Who has reviewed it.
    pub review: String,
    /// At least two members.
    pub members: Vec<Member>,
    /// Marks; empty for a set given by members alone.
    pub marks: Vec<Mark>,
    /// What cannot be told apart.
    pub cannot_tell: Vec<CannotTell>,
}

/// A species of a set.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// Scientific name.
    pub species: String,
    /// Vernacular name by language.
    pub names: BTreeMap<String, String>,
    /// Plumages by region with the months in which each is seen.
    pub plumages: Vec<PlumageMonths>,
    /// What a description must contain.
    pub describe: Option<String>,
    /// Measured proportions for line drawings; None where none are given.
    pub proportions: Option<Proportions>,
}

/// When a plumage is seen in a region.
#[derive(Debug, Clone, PartialEq)]
pub struct PlumageMonths {
    /// Where.
    pub region: Region,
    /// Which.
    pub plumage: Plumage,
    /// Months, 1..=12, at least one.
    pub months: Vec<u8>,
    /// Moult where it decides.
    pub moult: Option<String>,
}

/// A feature that separates at least two members.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Part of the bird, e.g. `bill`.
    pub part: String,
    /// How far it can be trusted.
    pub trust: Trust,
    /// Plumages it holds for; empty means every plumage.
    pub plumages: Vec<Plumage>,
    /// Regions it holds for; empty means wherever its members are described.
    pub regions: Vec<Region>,
    /// Months in which it holds, 1..=12; empty means all.
    pub months: Vec<u8>,
    /// What is to be seen, by group of members; members of different groups are separated.
    pub shows: Vec<Shows>,
    /// Pairs that it does not separate although they stand in different groups.
    pub not_between: Vec<(String, String)>,
    /// Known traps: wear, moult, hybrids, posture, distance.
    pub traps: Vec<Trap>,
}

/// What a mark looks like on some members.
#[derive(Debug, Clone, PartialEq)]
pub struct Shows {
    /// Scientific names.
    pub members: Vec<String>,
    /// Plumages of these members it is said of; empty means the mark's plumages.
    pub plumages: Vec<Plumage>,
    /// What it looks like.
    pub text: String,
}

/// Members that cannot be told apart in a plumage.
#[derive(Debug, Clone, PartialEq)]
pub struct CannotTell {
    /// Which members.
    pub members: Vec<String>,
    /// In which plumages; empty means every plumage.
    pub plumages: Vec<Plumage>,
    /// In which months, 1..=12; empty means all.
    pub months: Vec<u8>,
    /// In every view, however good; else only in the view that the text describes.
    pub always: bool,
    /// What to record instead.
    pub text: String,
}

impl LookAlikeSet {
    /// The member of that scientific name.
    pub fn member(&self, species: &str) -> Option<&Member> {
        self.members.iter().find(|m| m.species == species)
    }
}

impl Member {
    /// Plumages seen in the region in the month, 1..=12, in the order written.
    pub fn plumages_in(&self, region: &Region, month: u8) -> Vec<Plumage> {
        let seen = |p: &&PlumageMonths| p.region == *region && p.months.contains(&month);
        self.plumages
            .iter()
            .filter(seen)
            .map(|p| p.plumage)
            .collect()
    }
}
