//! Cells with two names of a species: "Dunlin (Calidris alpina)", "Calidris alpina - Dunlin".

use super::{NameBook, NameProblem, ReadName, Whose, form, undecided};
use crate::report::RepairKind;
use config::nearest::folded;

/// Signs that part two names, where the second is not in brackets. Between two species a slash
/// leaves a bird undecided; it parts the names of one.
const PARTED_BY: [&str; 6] = [" - ", " \u{2013} ", " \u{2014} ", " = ", ", ", SLASH];
const SLASH: &str = "/";

/// A name in such a cell, and the species that it means by itself.
struct Half<'n> {
    written: &'n str,
    read: ReadName,
}

impl NameBook {
    /// What a cell with two names means where they agree; None where it has no two, or a word that
    /// leaves the bird open.
    pub(super) fn both(&self, name: &str) -> Result<Option<ReadName>, NameProblem> {
        if undecided::leaves_open(name) {
            return Ok(None);
        }
        let Some((a, b, by_slash)) = two_names(name) else {
            return Ok(None);
        };
        let (Some(a), Some(b)) = (self.half(a), self.half(b)) else {
            return Ok(None);
        };
        if a.species() == b.species() {
            return Ok(Some(one_of_both(a.read, b.read)));
        }
        match by_slash {
            true => Ok(None),
            false => Err(NameProblem::TwoSpecies(
                [a.words(), b.words()],
                [a.species().to_owned(), b.species().to_owned()],
            )),
        }
    }

    /// The listed name beside something that is no name: "Dunlin (adult)".
    pub(super) fn listed_half<'n>(&self, name: &'n str) -> Option<&'n str> {
        let (a, b, _) = two_names(name)?;
        let listed = |half: &&str| matches!(self.look_up(half), Ok(Some(_)));
        [a, b].into_iter().find(listed)
    }

    /// A listed name, or a scientific one of a genus that is known: two words of any language look
    /// like a binomial.
    fn half<'n>(&self, written: &'n str) -> Option<Half<'n>> {
        let read = match self.look_up(written) {
            Ok(Some(read)) => read,
            _ if self.genera.contains(&folded(form::genus_of(written))) => {
                self.scientific(written).ok()?
            }
            _ => return None,
        };
        Some(Half { written, read })
    }
}

impl Half<'_> {
    fn species(&self) -> &str {
        match &self.read.whose {
            Whose::Species { name, .. } => name,
            Whose::Undecided(between) => between.first().map_or("", String::as_str),
            Whose::Nothing => "",
        }
    }

    fn words(&self) -> String {
        let (written, species) = (self.written, self.species());
        match folded(written) == folded(species) {
            true => format!("\"{written}\""),
            false => format!("\"{written}\" ({species})"),
        }
    }
}

fn one_of_both(a: ReadName, b: ReadName) -> ReadName {
    let mut repairs = vec![RepairKind::BothNames];
    for kind in a.repairs.into_iter().chain(b.repairs) {
        if !repairs.contains(&kind) {
            repairs.push(kind);
        }
    }
    ReadName {
        whose: a.whose,
        repairs,
    }
}

/// The two names in a cell, and whether a slash parts them.
pub(crate) fn two_names(name: &str) -> Option<(&str, &str, bool)> {
    let bracketed = |(open, close): (char, char)| {
        let (before, inside) = name.strip_suffix(close)?.split_once(open)?;
        Some((before, inside, false))
    };
    let parted = || {
        PARTED_BY.iter().find_map(|sign| {
            let (before, behind) = name.split_once(sign)?;
            Some((before, behind, *sign == SLASH))
        })
    };
    let found = [('(', ')'), ('[', ']')].into_iter().find_map(bracketed);
    let (a, b, by_slash) = found.or_else(parted)?;
    let (a, b) = (a.trim(), b.trim());
    (!a.is_empty() && !b.is_empty()).then_some((a, b, by_slash))
}
