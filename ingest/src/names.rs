//! Species names: found among those that `wingtide.toml` lists, or read as scientific names.

mod form;
mod undecided;

use crate::cell::{repaired_to, tidy};
use crate::report::RepairKind;
use chrono::NaiveDate;
use config::meaning::{DatedName, Undecided};
use config::nearest::{folded, nearest, slip_of};
use config::settings::Species;
use std::collections::{HashMap, HashSet};

/// A name as read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ReadName {
    /// Whose birds they are.
    pub(crate) whose: Whose,
    /// What was repaired to read it.
    pub(crate) repairs: Vec<RepairKind>,
}

/// Whose birds a name stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Whose {
    /// Of one species.
    Species {
        /// Scientific name, genus and epithet.
        name: String,
        /// Is it one that the workspace lists?
        listed: bool,
    },
    /// Of one of these species, by scientific name and in alphabetical order, and it is not known
    /// of which; a single one is doubtful itself.
    Undecided(Vec<String>),
}

/// Why a cell names no species.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum NameProblem {
    #[error("empty; every row needs its species")]
    Empty,
    #[error("a hybrid, which belongs to no one species")]
    Hybrid,
    #[error("one of several species, not told apart")]
    Slash,
    #[error("a genus without its species")]
    GenusOnly,
    #[error("a doubtful name")]
    Doubtful,
    #[error("stands for both {0} and {1} in wingtide.toml")]
    Ambiguous(String, String),
    #[error("not a scientific name, and wingtide.toml lists no species by it{}", nearest_words(.0))]
    NotAName(Option<String>),
}

impl NameProblem {
    /// A record that may well be sound but belongs to no one species.
    pub(crate) fn is_kept_back(&self) -> bool {
        use NameProblem::*;
        matches!(self, Hybrid | Slash | GenusOnly | Doubtful)
    }
}

fn nearest_words(nearest: &Option<String>) -> String {
    match nearest {
        Some(name) => format!("; the nearest is \"{name}\": add the name to its `also` if meant"),
        None => String::new(),
    }
}

/// What a row whose name stands for no species, or for one that is not listed, leaves unknown of
/// its visit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum LeftUnknown {
    /// Nothing: it tells of no listed species.
    Nothing,
    /// Whether these were found: the name is a slip of theirs, or stands for both.
    Species(Vec<String>),
    /// Which species it tells of at all.
    Any,
}

/// The names that the workspace lists.
pub(crate) struct NameBook {
    /// Folded name -> places in `species`; more than one is ambiguous.
    known: HashMap<String, Vec<usize>>,
    /// Names as listed.
    listed: Vec<String>,
    species: Vec<String>,
    /// Names as listed that are no scientific names of the species.
    vernacular: Vec<String>,
    /// Folded genera of the species.
    genera: HashSet<String>,
    /// Folded name -> when it meant which species.
    dated: HashMap<String, Vec<(DatedName, usize)>>,
    /// Folded name -> the species between which it is undecided.
    undecided: HashMap<String, Vec<String>>,
    /// Names are given as genus and epithet, and are thus scientific.
    in_two_columns: bool,
}

impl NameBook {
    pub(crate) fn new(species: &[Species], undecided: &[Undecided], in_two_columns: bool) -> Self {
        let mut book = NameBook {
            known: HashMap::new(),
            listed: Vec::new(),
            species: species.iter().map(|s| s.scientific.clone()).collect(),
            vernacular: Vec::new(),
            genera: species
                .iter()
                .map(|s| folded(form::genus_of(&s.scientific)))
                .collect(),
            dated: HashMap::new(),
            undecided: undecided
                .iter()
                .map(|u| (folded(&u.name), sorted(u.between.clone())))
                .collect(),
            in_two_columns,
        };
        for (place, s) in species.iter().enumerate() {
            s.all_names().for_each(|name| book.list(name, place));
            book.vernacular
                .extend(s.all_names().skip(1).map(str::to_owned));
            for name in &s.synonyms {
                let all = book.dated.entry(folded(&name.name)).or_default();
                all.push((name.clone(), place));
            }
        }
        book
    }

    fn list(&mut self, name: &str, place: usize) {
        let (name, _) = tidy(name);
        let places = self.known.entry(folded(&name)).or_default();
        if !places.contains(&place) {
            places.push(place);
        }
        self.listed.push(name.into_owned());
    }

    /// Do names mean different species on different dates?
    pub(crate) fn has_dated(&self) -> bool {
        !self.dated.is_empty()
    }

    /// The place of the species that the name meant on the date by a dated synonym.
    pub(crate) fn meant_on(&self, cell: &str, date: NaiveDate) -> Option<usize> {
        let all = self.dated.get(&folded(cell))?;
        let meant = all.iter().find(|(name, _)| name.holds_on(date));
        meant.map(|(_, place)| *place)
    }

    /// The name of the species at a place.
    pub(crate) fn of_place(&self, place: usize) -> Option<ReadName> {
        self.species.get(place).map(|name| ReadName {
            whose: Whose::Species {
                name: name.clone(),
                listed: true,
            },
            repairs: vec![RepairKind::Synonym],
        })
    }

    /// Reads a cell, or genus and epithet joined by a space.
    pub(crate) fn read(&self, cell: &str) -> Result<ReadName, NameProblem> {
        let (mut name, mut stray) = tidy(cell);
        let genus_alone = !name.is_empty() && !name.contains(' ') && !cell.starts_with(' ');
        if self.in_two_columns && genus_alone {
            name.to_mut().push_str(" sp.");
            stray.spaces = false; // the space before the empty cell of the epithet is ours
        }
        let mut read = match self.look_up(&name)? {
            Some(read) => read,
            None => self.unlisted(&name)?,
        };
        read.repairs.extend(stray.repairs());
        Ok(read)
    }

    fn unlisted(&self, name: &str) -> Result<ReadName, NameProblem> {
        if name.is_empty() {
            return Err(NameProblem::Empty);
        }
        let between = match self.undecided.get(&folded(name)) {
            Some(between) => Some(between.clone()),
            None => self.undecided(name)?,
        };
        match between {
            Some(between) => Ok(ReadName {
                whose: Whose::Undecided(between),
                repairs: Vec::new(),
            }),
            None => self.scientific(name),
        }
    }

    fn look_up(&self, name: &str) -> Result<Option<ReadName>, NameProblem> {
        let Some(places) = self.known.get(&folded(name)) else {
            return Ok(None);
        };
        if let [a, b, ..] = places[..] {
            let (a, b) = (self.species[a].clone(), self.species[b].clone());
            return Err(NameProblem::Ambiguous(a, b));
        }
        Ok(places.first().map(|&place| ReadName {
            whose: Whose::Species {
                name: self.species[place].clone(),
                listed: true,
            },
            repairs: repaired_to(name, self.listed.iter().map(String::as_str)),
        }))
    }

    /// A name in the form of a binomial or trinomial. Where its genus is not known from a listed
    /// species, the form must be right, for two words of any language look like a binomial: a
    /// slip in a listed vernacular name is told rather than made a species.
    fn scientific(&self, name: &str) -> Result<ReadName, NameProblem> {
        let read = form::read(name).ok_or_else(|| self.not_a_name(name))?;
        let sure = self.in_two_columns || self.genera.contains(&folded(read.genus));
        let is_slip = || slip_of(name, self.vernacular.iter().map(String::as_str)).is_some();
        if !sure && (!read.in_right_case() || is_slip()) {
            return Err(self.not_a_name(name));
        }
        let species = read.binomial();
        let repairs = [
            (!name.starts_with(&species), RepairKind::Case),
            (read.subspecies, RepairKind::Subspecies),
            (read.author, RepairKind::Author),
        ];
        let repairs = repairs.into_iter().filter(|k| k.0).map(|k| k.1).collect();
        // A subspecies of a listed species belongs to it, whatever name it is listed by.
        let found = self.look_up(&species)?.map(|found| found.whose);
        let unlisted = Whose::Species {
            name: species,
            listed: false,
        };
        Ok(ReadName {
            whose: found.unwrap_or(unlisted),
            repairs,
        })
    }

    /// What a row of that name leaves unknown, where it is not of a listed species.
    pub(crate) fn left_unknown(
        &self,
        cell: &str,
        read: &Result<ReadName, NameProblem>,
    ) -> LeftUnknown {
        match read.as_ref().map(|name| &name.whose) {
            Ok(Whose::Species { listed: true, .. }) => LeftUnknown::Nothing,
            // Birds left undecided were not named, and chances are those of named birds.
            Ok(Whose::Undecided(between)) if between.len() > 1 => LeftUnknown::Nothing,
            Ok(Whose::Undecided(between)) => LeftUnknown::Species(between.clone()),
            Ok(Whose::Species { name, .. }) => self.slip(name),
            Err(NameProblem::Ambiguous(a, b)) => LeftUnknown::Species(vec![a.clone(), b.clone()]),
            Err(problem) if problem.is_kept_back() => LeftUnknown::Nothing,
            Err(_) if form::could_be_any(&tidy(cell).0) => LeftUnknown::Any,
            Err(_) => self.slip(cell),
        }
    }

    fn slip(&self, name: &str) -> LeftUnknown {
        let listed = slip_of(name, self.listed.iter().map(String::as_str));
        let places = listed.and_then(|listed| self.known.get(&folded(listed)));
        let species = |place: &usize| self.species[*place].clone();
        match places {
            Some(places) => LeftUnknown::Species(places.iter().map(species).collect()),
            None => LeftUnknown::Nothing,
        }
    }

    fn not_a_name(&self, name: &str) -> NameProblem {
        NameProblem::NotAName(self.nearest(name).map(str::to_owned))
    }

    /// The scientific name of the listed species with a name, of whatever kind, that is near.
    pub(crate) fn nearest_species(&self, name: &str) -> Option<&str> {
        let listed = self.nearest(name)?;
        let place = *self.known.get(&folded(listed))?.first()?;
        Some(&self.species[place])
    }

    fn nearest(&self, name: &str) -> Option<&str> {
        nearest(name, self.listed.iter().map(String::as_str))
    }
}

fn sorted(mut names: Vec<String>) -> Vec<String> {
    names.sort();
    names.dedup();
    names
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn listed() -> Vec<Species> {
        let species = |scientific: &str, en: &str, also: &[&str]| Species {
            scientific: scientific.into(),
            names: BTreeMap::from([("en".into(), en.into())]),
            also: also.iter().map(|a| a.to_string()).collect(),
            sensitive: None,
            synonyms: Vec::new(),
        };
        vec![
            species(
                "Calidris minuta",
                "Little Stint",
                &["Lit Stint", "stint sp."],
            ),
            species("Calidris temminckii", "Temminck's Stint", &["stint"]),
            species("Calidris alpina", "Dunlin", &["stint"]),
            species("Sterna hirundo", "Common Tern", &[]),
            species("Sterna paradisaea", "Arctic Tern", &[]),
        ]
    }

    fn book() -> NameBook {
        let undecided = Undecided {
            name: "Small wader".into(),
            between: vec!["Calidris minuta".into(), "Calidris alpina".into()],
        };
        NameBook::new(&listed(), &[undecided], false)
    }

    fn flags(read: &ReadName) -> String {
        let letter = |kind: &RepairKind| match kind {
            RepairKind::Case => 'c',
            RepairKind::Spaces => 's',
            RepairKind::Tabs => 't',
            RepairKind::Subspecies => 'u',
            other => panic!("{other:?}"),
        };
        read.repairs.iter().map(letter).collect()
    }

    fn species(name: &str, listed: bool) -> Whose {
        Whose::Species {
            name: name.into(),
            listed,
        }
    }

    #[test]
    fn names_that_can_be_read() {
        let cases = [
            ("Calidris minuta", "Calidris minuta", true, ""),
            ("calidris minuta", "Calidris minuta", true, "c"),
            ("CALIDRIS MINUTA", "Calidris minuta", true, "c"),
            (" Calidris\t minuta", "Calidris minuta", true, "st"),
            ("Little Stint", "Calidris minuta", true, ""),
            ("little stint", "Calidris minuta", true, "c"),
            ("Lit Stint", "Calidris minuta", true, ""),
            ("stint sp.", "Calidris minuta", true, ""),
            ("dunlin", "Calidris alpina", true, "c"),
            ("Calidris alpina schinzii", "Calidris alpina", true, "u"),
            (
                "calidris alpina ssp. schinzii",
                "Calidris alpina",
                true,
                "cu",
            ),
            ("Calidris canutus", "Calidris canutus", false, ""),
            ("calidris Canutus", "Calidris canutus", false, "c"),
            ("Calidris minutta", "Calidris minutta", false, ""),
            (
                "Larus novae-hollandiae",
                "Larus novae-hollandiae",
                false,
                "",
            ),
            ("Motacilla flava thunbergi", "Motacilla flava", false, "u"),
        ];
        for (cell, name, listed, mended) in cases {
            let read = book().read(cell).unwrap_or_else(|e| panic!("{cell}: {e}"));
            assert_eq!(read.whose, species(name, listed), "{cell}");
            assert_eq!(flags(&read), mended, "{cell}");
        }
        let two_columns = NameBook::new(&listed(), &[], true);
        assert_eq!(two_columns.read("Larus "), Err(NameProblem::GenusOnly));
        assert!(matches!(
            two_columns.read(" canus"),
            Err(NameProblem::NotAName(_))
        ));
        let read = two_columns.read("larus canus").unwrap();
        assert_eq!(
            (read.whose, read.repairs),
            (species("Larus canus", false), vec![RepairKind::Case])
        );
    }

    #[test]
    fn names_that_cannot_be_read() {
        use NameProblem::*;
        let near = |name: &str| NotAName(Some(name.into()));
        let cases = [
            ("", Empty),
            (" \t", Empty),
            ("12", NotAName(None)),
            ("Dunlim", near("Dunlin")),
            ("Litle Stint", near("Little Stint")),
            ("Litle stint", near("Little Stint")),
            ("Temmincks stint", near("Temminck's Stint")),
            ("Wood Sandpiper", NotAName(None)),
            ("larus canus", NotAName(None)),
            ("Black-headed Gull", NotAName(None)),
            ("Common Ringed Plover", NotAName(None)),
            ("B\u{e9}casseau variable", NotAName(None)),
            ("Calidris minuta x alpina", Hybrid),
            ("Calidris minuta \u{d7} temminckii", Hybrid),
            ("Larus sp.", GenusOnly),
            ("Little Stint/wader", Slash),
            ("cf. wader", Doubtful),
        ];
        for (cell, expected) in cases {
            assert_eq!(book().read(cell), Err(expected), "{cell}");
        }
        assert!(matches!(book().read("Stint"), Err(Ambiguous(_, _))));
    }

    #[test]
    fn birds_left_undecided() {
        let (alpina, minuta, temminckii) =
            ("Calidris alpina", "Calidris minuta", "Calidris temminckii");
        let terns = ["Sterna hirundo", "Sterna paradisaea"];
        let cases: [(&str, &[&str]); 9] = [
            ("Calidris minuta/temminckii", &[minuta, temminckii]),
            (
                "Calidris minuta / Calidris temminckii",
                &[minuta, temminckii],
            ),
            ("Dunlin/Little Stint", &[alpina, minuta]),
            ("Common/Arctic Tern", &terns),
            ("Calidris sp.", &[alpina, minuta, temminckii]),
            ("small  wader", &[alpina, minuta]),
            ("Calidris cf. minuta", &[minuta]),
            ("Little Stint?", &[minuta]),
            ("possible Dunlin", &[alpina]),
        ];
        for (cell, expected) in cases {
            let read = book().read(cell).unwrap_or_else(|e| panic!("{cell}: {e}"));
            let expected = expected.iter().map(|s| s.to_string()).collect();
            assert_eq!(read.whose, Whose::Undecided(expected), "{cell}");
        }
        let qualified = |name, qualifier| match book().qualified(name, qualifier).unwrap() {
            Whose::Undecided(between) => between,
            decided => panic!("{decided:?}"),
        };
        assert_eq!(qualified("Calidris minuta", "cf."), [minuta]);
        assert_eq!(
            qualified("Calidris", "minuta/temminckii"),
            [minuta, temminckii]
        );
        assert_eq!(
            qualified("Little Stint", "Little Stint/Dunlin"),
            [alpina, minuta]
        );
    }

    #[test]
    fn what_a_row_leaves_unknown() {
        use LeftUnknown::*;
        let only = |name: &str| Species(vec![name.into()]);
        let cases = [
            ("Little Stint", Nothing),
            ("Litle Stint", only("Calidris minuta")),
            ("Calidris minutta", only("Calidris minuta")),
            ("Calidris alba", Nothing),
            ("Blackbird", Nothing),
            ("LITST", Any),
            ("", Any),
            ("Little Stint?", only("Calidris minuta")),
            ("Calidris minuta/temminckii", Nothing),
            ("Calidris minuta x alpina", Nothing),
            (
                "Stint",
                Species(vec!["Calidris temminckii".into(), "Calidris alpina".into()]),
            ),
        ];
        for (cell, expected) in cases {
            let read = book().read(cell);
            assert_eq!(book().left_unknown(cell, &read), expected, "{cell}");
        }
    }

    #[test]
    fn names_that_meant_another_species_before_a_date() {
        let mut species = listed();
        species[3].synonyms.push(DatedName {
            name: "Arctic Tern".into(),
            since: None,
            until: Some("1950-12-31".parse().unwrap()),
        });
        let book = NameBook::new(&species, &[], false);
        let meant = |date: &str| book.meant_on("arctic  tern", date.parse().unwrap());
        assert_eq!((meant("1950-12-31"), meant("1951-01-01")), (Some(3), None));
        let read = book.of_place(3).unwrap();
        assert_eq!(read.repairs, [RepairKind::Synonym]);
    }

    #[test]
    fn the_nearest_listed_species() {
        assert_eq!(
            book().nearest_species("Calidris minutta"),
            Some("Calidris minuta")
        );
        assert_eq!(
            book().nearest_species("Temmincks Stint"),
            Some("Calidris temminckii")
        );
        let empty = NameBook::new(&[], &[], false);
        assert_eq!(empty.nearest_species("Calidris alba"), None);
    }
}
