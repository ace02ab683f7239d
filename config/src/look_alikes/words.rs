//! Grades of trust in words; each is defined here once.

use super::Trust;
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
