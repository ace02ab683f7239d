//! The regions for which plumages and months are stated.

use super::Region;
use crate::nearest::one_of;
use crate::raw::{Section, did_you_mean};
use toml::Spanned;

/// Every region that settings and look-alike sets may name, with what it covers. The names are
/// the usual ones of biogeography; Asia is parted because its plumages and months differ.
pub const REGIONS: [(&str, &str); 7] = [
    (
        "western-palearctic",
        "Europe, North Africa and the Middle East",
    ),
    (
        "nearctic",
        "North America with northern Mexico and Greenland",
    ),
    ("neotropics", "Central and South America and the Caribbean"),
    (
        "afrotropics",
        "Africa south of the Sahara, southern Arabia and Madagascar",
    ),
    ("south-asia", "the Indian subcontinent and South-East Asia"),
    (
        "east-asia",
        "Siberia east of the Yenisei, China, Korea and Japan",
    ),
    (
        "australasia",
        "Australia, New Guinea, New Zealand and the islands about them",
    ),
];

/// The region of that name; else noted, with the nearest.
pub(crate) fn read_region(section: &Section<'_>, name: &Spanned<String>) -> Option<Region> {
    let names = || REGIONS.iter().map(|(name, _)| *name);
    if names().any(|known| known == name.get_ref()) {
        return Some(Region(name.get_ref().clone()));
    }
    let message = format!(
        "unknown region {:?} in {}; expected {}",
        name.get_ref(),
        section.title(),
        one_of(names())
    );
    section.refuse(name, message, did_you_mean(name.get_ref(), names()));
    None
}
