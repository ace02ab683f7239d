//! Plumages by age, sex and season; each term is defined here once.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Age, sex and season class of a plumage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Plumage {
    /// First true feathers.
    Juvenile,
    /// After the post-juvenile moult, to the next spring.
    FirstWinter,
    /// Males in first-winter plumage.
    FirstWinterMale,
    /// Females in first-winter plumage.
    FirstWinterFemale,
    /// One year old.
    FirstSummer,
    /// Older than one year and not yet adult.
    Immature,
    /// Adults whose plumage the season does not change.
    Adult,
    /// Adults of both sexes in breeding plumage.
    AdultBreeding,
    /// Adult males in breeding plumage.
    AdultBreedingMale,
    /// Adult females in breeding plumage.
    AdultBreedingFemale,
    /// Adults of both sexes in non-breeding plumage.
    AdultNonBreeding,
    /// Adult males in non-breeding plumage.
    AdultNonBreedingMale,
    /// Adult females in non-breeding plumage.
    AdultNonBreedingFemale,
    /// Dull plumage of male ducks while flightless.
    Eclipse,
    /// Males told apart from females.
    Male,
    /// Females told apart from males.
    Female,
    /// The sexes and ages look alike in the field.
    AllAlike,
}

/// What a plumage says of age and season.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Age {
    Juvenile,
    FirstWinter,
    FirstSummer,
    Immature,
    Adult,
    Breeding,
    NonBreeding,
    Eclipse,
    Alike,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sex {
    Male,
    Female,
}

impl Plumage {
    /// Every plumage by the name it has in set files.
    pub const NAMES: [(&str, Plumage); 17] = [
        ("juvenile", Plumage::Juvenile),
        ("first-winter", Plumage::FirstWinter),
        ("first-winter-male", Plumage::FirstWinterMale),
        ("first-winter-female", Plumage::FirstWinterFemale),
        ("first-summer", Plumage::FirstSummer),
        ("immature", Plumage::Immature),
        ("adult", Plumage::Adult),
        ("adult-breeding", Plumage::AdultBreeding),
        ("adult-breeding-male", Plumage::AdultBreedingMale),
        ("adult-breeding-female", Plumage::AdultBreedingFemale),
        ("adult-non-breeding", Plumage::AdultNonBreeding),
        ("adult-non-breeding-male", Plumage::AdultNonBreedingMale),
        ("adult-non-breeding-female", Plumage::AdultNonBreedingFemale),
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
                "A bird hatched in the last breeding season, after its first moult, which mostly leaves the wing feathers juvenile; in autumn too."
            }
            Plumage::FirstWinterMale => "A first-winter bird, where it can be seen to be a male.",
            Plumage::FirstWinterFemale => {
                "A first-winter bird, where it can be seen to be a female."
            }
            Plumage::FirstSummer => {
                "A bird about one year old that can still be told from adults, mostly by worn wing feathers."
            }
            Plumage::Immature => {
                "A bird more than one year old that is not yet like an adult, in species that take years over it."
            }
            Plumage::Adult => "Adults of both sexes, where the season does not change them.",
            Plumage::AdultBreeding => "Adults of both sexes in the plumage of the breeding season.",
            Plumage::AdultBreedingMale => "Adult males in the plumage of the breeding season.",
            Plumage::AdultBreedingFemale => "Adult females in the plumage of the breeding season.",
            Plumage::AdultNonBreeding => {
                "Adults of both sexes in the plumage worn outside the breeding season."
            }
            Plumage::AdultNonBreedingMale => {
                "Adult males in the plumage worn outside the breeding season."
            }
            Plumage::AdultNonBreedingFemale => {
                "Adult females in the plumage worn outside the breeding season."
            }
            Plumage::Eclipse => {
                "The dull plumage of male ducks while they moult their flight feathers."
            }
            Plumage::Male => "Males, where the field marks tell them from females.",
            Plumage::Female => "Females, where the field marks tell them from males.",
            Plumage::AllAlike => "Sexes and ages look alike in the field at this season.",
        }
    }

    /// The plumage in the words of a sentence.
    pub fn in_words(self) -> &'static str {
        match self {
            Plumage::Juvenile => "juvenile",
            Plumage::FirstWinter => "first winter",
            Plumage::FirstWinterMale => "first-winter male",
            Plumage::FirstWinterFemale => "first-winter female",
            Plumage::FirstSummer => "first summer",
            Plumage::Immature => "immature",
            Plumage::Adult => "adult",
            Plumage::AdultBreeding => "adult in breeding plumage",
            Plumage::AdultBreedingMale => "adult male in breeding plumage",
            Plumage::AdultBreedingFemale => "adult female in breeding plumage",
            Plumage::AdultNonBreeding => "adult in non-breeding plumage",
            Plumage::AdultNonBreedingMale => "adult male in non-breeding plumage",
            Plumage::AdultNonBreedingFemale => "adult female in non-breeding plumage",
            Plumage::Eclipse => "eclipse",
            Plumage::Male => "male",
            Plumage::Female => "female",
            Plumage::AllAlike => "sexes and ages alike",
        }
    }

    /// Is everything said of this plumage said of the one worn? What is said of adults is said of
    /// adults in breeding plumage, what is said of females of adult females, and so on.
    pub fn covers(self, worn: Plumage) -> bool {
        let ((age, sex), (worn_age, worn_sex)) = (self.parts(), worn.parts());
        let same_age = match age {
            None => true,
            Some(Age::Adult) => matches!(
                worn_age,
                Some(Age::Adult | Age::Breeding | Age::NonBreeding | Age::Eclipse)
            ),
            Some(_) => age == worn_age,
        };
        same_age && (sex.is_none() || sex == worn_sex)
    }

    /// Is one of the plumages the one worn, or wider? An empty list means every plumage.
    pub fn any_covers(said_of: &[Plumage], worn: Plumage) -> bool {
        said_of.is_empty() || said_of.iter().any(|p| p.covers(worn))
    }

    fn parts(self) -> (Option<Age>, Option<Sex>) {
        let (male, female) = (Some(Sex::Male), Some(Sex::Female));
        match self {
            Plumage::Juvenile => (Some(Age::Juvenile), None),
            Plumage::FirstWinter => (Some(Age::FirstWinter), None),
            Plumage::FirstWinterMale => (Some(Age::FirstWinter), male),
            Plumage::FirstWinterFemale => (Some(Age::FirstWinter), female),
            Plumage::FirstSummer => (Some(Age::FirstSummer), None),
            Plumage::Immature => (Some(Age::Immature), None),
            Plumage::Adult => (Some(Age::Adult), None),
            Plumage::AdultBreeding => (Some(Age::Breeding), None),
            Plumage::AdultBreedingMale => (Some(Age::Breeding), male),
            Plumage::AdultBreedingFemale => (Some(Age::Breeding), female),
            Plumage::AdultNonBreeding => (Some(Age::NonBreeding), None),
            Plumage::AdultNonBreedingMale => (Some(Age::NonBreeding), male),
            Plumage::AdultNonBreedingFemale => (Some(Age::NonBreeding), female),
            Plumage::Eclipse => (Some(Age::Eclipse), male),
            Plumage::Male => (None, male),
            Plumage::Female => (None, female),
            Plumage::AllAlike => (Some(Age::Alike), None),
        }
    }
}

impl fmt::Display for Plumage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.in_words())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde::de::value::{Error, StrDeserializer};

    /// Set files and what the type serialises to use the same names.
    #[test]
    fn names_are_those_of_the_type() {
        for (name, plumage) in Plumage::NAMES {
            let plain = Plumage::deserialize(StrDeserializer::<Error>::new(name));
            assert_eq!(plain, Ok(plumage));
            assert_eq!(plumage.name(), name);
        }
    }

    #[test]
    fn what_is_said_of_a_class_is_said_of_its_parts_and_of_nothing_wider() {
        use Plumage::*;
        for (said_of, worn) in [
            (Female, FirstWinterFemale),
            (Female, AdultBreedingFemale),
            (Male, Eclipse),
            (Adult, AdultNonBreedingMale),
            (AdultBreeding, AdultBreedingMale),
            (FirstWinter, FirstWinterMale),
        ] {
            assert!(said_of.covers(worn), "{said_of} {worn}");
            assert!(!worn.covers(said_of), "{worn} {said_of}");
        }
        for (said_of, worn) in [
            (Female, Male),
            (Female, AdultBreeding),
            (Adult, FirstWinter),
            (Adult, Male),
            (AllAlike, Juvenile),
            (Juvenile, AllAlike),
            (AdultBreeding, AdultNonBreeding),
        ] {
            assert!(!said_of.covers(worn), "{said_of} {worn}");
        }
        assert!(Plumage::NAMES.iter().all(|(_, p)| p.covers(*p)));
        assert!(Plumage::any_covers(&[], Eclipse));
    }
}
