//! What a subscriber chose, and how a form is read against what is on offer.

use super::Offer;
use crate::dates::DateStyle;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// How often a digest comes.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Frequency {
    /// Every week.
    #[default]
    Weekly,
    /// Only where the window of a species of theirs opens, or two look-alikes of theirs begin to
    /// overlap.
    Openings,
}

impl Frequency {
    /// As forms and tables write it.
    pub fn name(self) -> &'static str {
        match self {
            Frequency::Weekly => "weekly",
            Frequency::Openings => "openings",
        }
    }
}

/// What a subscriber wants. An empty list of sites means all, and so do sets and species where both
/// are empty.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Choices {
    /// Ids of sites.
    pub sites: BTreeSet<String>,
    /// Ids of look-alike sets.
    pub sets: BTreeSet<String>,
    /// Scientific names.
    pub species: BTreeSet<String>,
    /// How often.
    pub frequency: Frequency,
    /// Language of species names, BCP 47; the workspace's where None.
    pub language: Option<String>,
    /// How dates are written.
    pub dates: DateStyle,
}

/// A choice that is not on offer: a form that was changed, or settings that were.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what} is not among the choices.")]
pub struct NotOffered {
    what: &'static str,
}

/// The most fields that a form of ours has, far beyond any workspace's.
const MOST_FIELDS: usize = 2000;

impl Choices {
    /// Reads the fields of a form; those that are none of the choices are passed over.
    ///
    /// # Errors
    /// [`NotOffered`]; nothing of what was sent is repeated in it.
    pub fn read(fields: &[(String, String)], offer: &Offer) -> Result<Self, NotOffered> {
        if fields.len() > MOST_FIELDS {
            return Err(NotOffered {
                what: "A form of this length",
            });
        }
        let form = Form { fields, offer };
        Ok(Choices {
            sites: form.among("site", "A site", |id| offer.has_site(id))?,
            sets: form.among("set", "A look-alike set", |id| offer.has_set(id))?,
            species: form.among("species", "A species", |name| offer.has_species(name))?,
            frequency: form.frequency()?,
            language: form.language()?,
            dates: form.dates()?,
        })
    }

    /// Whether a site is wanted.
    pub fn wants_site(&self, id: &str) -> bool {
        self.sites.is_empty() || self.sites.contains(id)
    }

    /// Whether a set is wanted, by its id or for one of its members.
    pub fn wants_set<'a>(&self, id: &str, mut members: impl Iterator<Item = &'a str>) -> bool {
        self.wants_all() || self.sets.contains(id) || members.any(|m| self.species.contains(m))
    }

    /// Whether a species of no set is wanted.
    pub fn wants_species(&self, species: &str) -> bool {
        self.wants_all() || self.species.contains(species)
    }

    /// Neither sets nor species are chosen.
    pub fn wants_all(&self) -> bool {
        self.sets.is_empty() && self.species.is_empty()
    }
}

/// A form that was sent, and what it may choose from.
struct Form<'a> {
    fields: &'a [(String, String)],
    offer: &'a Offer,
}

impl Form<'_> {
    /// All that stands under a name.
    fn among(
        &self,
        name: &str,
        what: &'static str,
        known: impl Fn(&str) -> bool,
    ) -> Result<BTreeSet<String>, NotOffered> {
        let own = self.fields.iter().filter(|(field, _)| field == name);
        let own: BTreeSet<String> = own.map(|(_, value)| value.clone()).collect();
        match own.iter().all(|value| known(value)) {
            true => Ok(own),
            false => Err(NotOffered { what }),
        }
    }

    /// What stands under a name last.
    fn one(&self, name: &str) -> Option<&str> {
        let own = self.fields.iter().rev().find(|(field, _)| field == name);
        own.map(|(_, value)| value.as_str())
    }

    fn frequency(&self) -> Result<Frequency, NotOffered> {
        match self.one("frequency") {
            None | Some("weekly") => Ok(Frequency::Weekly),
            Some("openings") => Ok(Frequency::Openings),
            Some(_) => Err(NotOffered { what: "How often" }),
        }
    }

    fn dates(&self) -> Result<DateStyle, NotOffered> {
        let Some(name) = self.one("dates") else {
            return Ok(DateStyle::default());
        };
        let mut known = DateStyle::ALL.into_iter();
        known.find(|style| style.name() == name).ok_or(NotOffered {
            what: "The way of writing dates",
        })
    }

    /// None for the workspace's own, which may change.
    fn language(&self) -> Result<Option<String>, NotOffered> {
        let other = self.one("language").filter(|l| *l != self.offer.language);
        match other {
            Some(tag) if !self.offer.has_language(tag) => Err(NotOffered {
                what: "The language",
            }),
            other => Ok(other.map(str::to_owned)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(fields: &[(&str, &str)]) -> Result<Choices, NotOffered> {
        let fields: Vec<_> = fields
            .iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect();
        Choices::read(&fields, &Offer::example())
    }

    #[test]
    fn a_form_without_choices_means_all_every_week() {
        let all = read(&[("mail", "a@b.example")]).expect("choices");
        assert_eq!(all, Choices::default());
        assert!(all.wants_site("long-bank") && all.wants_species("Calidris alpina"));
    }

    #[test]
    fn several_of_a_kind_may_be_chosen() {
        let some = read(&[
            ("site", "long-bank"),
            ("site", "loch-arne"),
            ("species", "Calidris alpina"),
            ("frequency", "openings"),
            ("language", "de"),
            ("dates", "iso"),
        ]);
        let some = some.expect("choices");
        assert_eq!(some.sites.len(), 2);
        assert_eq!(some.language.as_deref(), Some("de"));
        assert!(some.wants_set("small-sandpipers", ["Calidris alpina"].into_iter()));
        assert!(!some.wants_set("small-sandpipers", ["Calidris minuta"].into_iter()));
        assert!(!some.wants_species("Calidris minuta"));
    }

    #[test]
    fn what_is_not_on_offer_is_refused_and_not_repeated() {
        let wrong = [
            ("site", "<script>"),
            ("set", "{{ 7 * 7 }}"),
            ("species", "Passer nemo"),
            ("frequency", "hourly"),
            ("language", "../../etc/passwd"),
            ("dates", "roman"),
        ];
        for field in wrong {
            let said = read(&[field]).expect_err("refused").to_string();
            assert!(!said.contains(field.1), "{said}");
        }
    }
}
