//! Species names: found among those that `wingtide.toml` lists, or read as scientific names.

mod both;
mod form;
mod problem;
#[cfg(test)]
mod tests;
mod undecided;

pub(crate) use both::two_names;
pub(crate) use problem::NameProblem;

use crate::cell::{repaired_to, tidy};
use crate::nothing;
use crate::report::RepairKind;
use crate::totals::TotalsWords;
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
    /// Of none: the row says that its visit found no bird.
    Nothing,
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
    /// Words that stand where a row adds up others.
    totals: TotalsWords,
    /// Names are given as genus and epithet, and are thus scientific.
    in_two_columns: bool,
    /// A word may say that nothing was found.
    may_be_nothing: bool,
}

impl NameBook {
    pub(crate) fn new(
        species: &[Species],
        undecided: &[Undecided],
        totals: TotalsWords,
        in_two_columns: bool,
    ) -> Self {
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
            totals,
            in_two_columns,
            may_be_nothing: true,
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

    /// The names of a wide table. A 0 under "none", or beside it, may say the opposite of the word, so
    /// that there it is a name like any other that is not known.
    pub(crate) fn of_wide_table(self) -> Self {
        NameBook {
            may_be_nothing: false,
            ..self
        }
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
            if !self.is_nothing(&name) {
                name.to_mut().push_str(" sp.");
            }
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
        let stated = self.undecided.get(&folded(name)).cloned();
        if stated.is_none() && self.is_nothing(name) {
            return Ok(ReadName {
                whose: Whose::Nothing,
                repairs: vec![RepairKind::NoBirds],
            });
        }
        if stated.is_none() && self.totals.begins(name) {
            return Err(NameProblem::Totals);
        }
        if stated.is_none()
            && let Some(read) = self.both(name)?
        {
            return Ok(read);
        }
        let between = match stated {
            Some(between) => Some(between),
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

    fn is_nothing(&self, name: &str) -> bool {
        self.may_be_nothing && nothing::is_said(name)
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
            Ok(Whose::Species { listed: true, .. } | Whose::Nothing) => LeftUnknown::Nothing,
            // Birds left undecided were not named, and chances are those of named birds.
            Ok(Whose::Undecided(between)) if between.len() > 1 => LeftUnknown::Nothing,
            Ok(Whose::Undecided(between)) => LeftUnknown::Species(between.clone()),
            Ok(Whose::Species { name, .. }) => self.slip(name),
            Err(NameProblem::Ambiguous(a, b)) => LeftUnknown::Species(vec![a.clone(), b.clone()]),
            Err(NameProblem::TwoSpecies(_, species)) => self.listed_among(species),
            Err(NameProblem::Totals) => LeftUnknown::Nothing,
            Err(problem) if problem.is_kept_back() => LeftUnknown::Nothing,
            Err(_) if form::could_be_any(&tidy(cell).0) => LeftUnknown::Any,
            Err(_) => self.slip(cell),
        }
    }

    fn slip(&self, name: &str) -> LeftUnknown {
        let listed = slip_of(name, self.listed.iter().map(String::as_str));
        let tidied = tidy(name).0;
        let listed = listed.or_else(|| self.listed_half(&tidied));
        let places = listed.and_then(|listed| self.known.get(&folded(listed)));
        let species = |place: &usize| self.species[*place].clone();
        match places {
            Some(places) => LeftUnknown::Species(places.iter().map(species).collect()),
            None => LeftUnknown::Nothing,
        }
    }

    fn listed_among(&self, species: &[String]) -> LeftUnknown {
        let listed = species.iter().filter(|s| self.species.contains(s));
        match listed.cloned().collect::<Vec<_>>() {
            none if none.is_empty() => LeftUnknown::Nothing,
            some => LeftUnknown::Species(some),
        }
    }

    fn not_a_name(&self, name: &str) -> NameProblem {
        let half = || self.listed_half(name);
        NameProblem::NotAName(self.nearest(name).or_else(half).map(str::to_owned))
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
