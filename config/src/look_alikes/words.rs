//! Plumages and grades of trust in words; each term is defined here once.

use super::{Plumage, Trust};
use std::fmt;

impl Trust {
    /// Every grade, best first, by the name it has in set files.
    pub const NAMES: [(&str, Trust); 5] = [
        ("structure", Trust::Structure),
        ("pattern", Trust::Pattern),
        ("voice", Trust::Voice),
        ("behaviour", Trust::Behaviour),
        ("light", Trust::Light),
    ];

    /// What the grade means, as one sentence.
    pub fn meaning(self) -> &'static str {
        match self {
            Trust::Structure => {
                "Shape and proportion: the same in every light and hardly changed by wear; judge it first."
            }
            Trust::Pattern => {
                "Where colours meet and what they border, and the colour of bill and legs: good at close range, changed by wear and moult."
            }
            Trust::Voice => {
                "Call and song: often decisive when heard well, and no help when the bird is silent."
            }
            Trust::Behaviour => "What the bird does: it supports a name, and alone it proves none.",
            Trust::Light => {
                "Changes with light, distance, wear, mud or posture: it misleads, so put no weight on it."
            }
        }
    }
}

impl fmt::Display for Trust {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Trust::Structure => "structure",
            Trust::Pattern => "plumage pattern",
            Trust::Voice => "voice",
            Trust::Behaviour => "behaviour",
            Trust::Light => "changes with light",
        })
    }
}

impl Plumage {
    /// Every plumage by the name it has in set files.
    pub const NAMES: [(&str, Plumage); 8] = [
        ("juvenile", Plumage::Juvenile),
        ("first-winter", Plumage::FirstWinter),
        ("adult-breeding", Plumage::AdultBreeding),
        ("adult-non-breeding", Plumage::AdultNonBreeding),
        ("eclipse", Plumage::Eclipse),
        ("male", Plumage::Male),
        ("female", Plumage::Female),
        ("all-alike", Plumage::AllAlike),
    ];

    /// Its name in set files.
    pub fn name(self) -> &'static str {
        let found = Self::NAMES.iter().find(|(_, plumage)| *plumage == self);
        found.map_or("", |(name, _)| name)
    }

    /// What the plumage is, as one sentence.
    pub fn meaning(self) -> &'static str {
        match self {
            Plumage::Juvenile => {
                "The first full plumage, worn from leaving the nest to the first moult."
            }
            Plumage::FirstWinter => {
                "A bird hatched in the last breeding season, after its first moult, which mostly leaves the wing feathers juvenile."
            }
            Plumage::AdultBreeding => "Adults of both sexes in the plumage of the breeding season.",
            Plumage::AdultNonBreeding => {
                "Adults of both sexes in the plumage worn outside the breeding season."
            }
            Plumage::Eclipse => {
                "The dull plumage of male ducks while they moult their flight feathers."
            }
            Plumage::Male => "Males, where the field marks tell them from females.",
            Plumage::Female => "Females, where the field marks tell them from males.",
            Plumage::AllAlike => "Sexes and ages look alike in the field at this season.",
        }
    }
}

impl fmt::Display for Plumage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Plumage::Juvenile => "juvenile",
            Plumage::FirstWinter => "first winter",
            Plumage::AdultBreeding => "adult, breeding",
            Plumage::AdultNonBreeding => "adult, non-breeding",
            Plumage::Eclipse => "male in eclipse",
            Plumage::Male => "male",
            Plumage::Female => "female",
            Plumage::AllAlike => "all ages alike",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde::Deserialize;
    use serde::de::value::{Error, StrDeserializer};

    fn plain<T: for<'de> Deserialize<'de>>(name: &str) -> Result<T, Error> {
        T::deserialize(StrDeserializer::new(name))
    }

    /// Set files and what the types serialise to use the same names.
    #[test]
    fn names_are_those_of_the_types() {
        for (name, plumage) in Plumage::NAMES {
            assert_eq!(plain::<Plumage>(name), Ok(plumage));
            assert_eq!(plumage.name(), name);
        }
        for (name, trust) in Trust::NAMES {
            assert_eq!(plain::<Trust>(name), Ok(trust));
        }
    }

    #[test]
    fn grades_stand_best_first() {
        assert!(Trust::NAMES.is_sorted_by_key(|(_, trust)| trust));
        assert_eq!(Trust::NAMES[0].1, Trust::Structure);
        assert_eq!(Trust::NAMES[4].1, Trust::Light);
    }
}
