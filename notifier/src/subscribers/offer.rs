//! What subscribers can choose from: what is written down in the settings and kept from nobody.

use super::editions;
use crate::deliveries::DeliveryError;
use crate::web::aliases::Aliases;
use crate::web::shown;
use config::settings::{Species, Workspace};
use std::collections::{BTreeMap, BTreeSet};

/// The choices that a workspace has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// Sites as id and name, in the order of the settings.
    pub sites: Vec<(String, String)>,
    /// Look-alike sets as id and title.
    pub sets: Vec<(String, String)>,
    /// Species as scientific name and name shown, by the latter.
    pub species: Vec<(String, String)>,
    /// Languages that species have names in, and [`SCIENTIFIC`].
    pub languages: BTreeSet<String>,
    /// The workspace's own.
    pub language: String,
}

/// The tag that stands for scientific names: Latin.
pub const SCIENTIFIC: &str = "la";

/// Names of languages in themselves; others are shown by their tag. IANA's registry has the tags.
const OWN_NAMES: [(&str, &str); 16] = [
    ("cy", "Cymraeg"),
    ("da", "dansk"),
    ("de", "Deutsch"),
    ("en", "English"),
    ("es", "español"),
    ("fi", "suomi"),
    ("fr", "français"),
    ("ga", "Gaeilge"),
    ("gd", "Gàidhlig"),
    ("it", "italiano"),
    (SCIENTIFIC, "scientific names"),
    ("nl", "Nederlands"),
    ("no", "norsk"),
    ("pl", "polski"),
    ("pt", "português"),
    ("sv", "svenska"),
];

impl Offer {
    /// What there is to choose in a workspace: what everybody may see.
    ///
    /// # Errors
    /// [`DeliveryError`] where names for what is not to be named cannot be made.
    pub fn of(workspace: &Workspace) -> Result<Self, DeliveryError> {
        let aliases = Aliases::of(workspace)?;
        let covered = editions::covered(workspace, &aliases);
        let shown = shown::workspace(workspace, &aliases);
        let name = |s: &Species| {
            let name = shown.shown_name(&s.scientific).to_owned();
            (s.scientific.clone(), name)
        };
        let mut species: Vec<_> = shown.species.iter().map(name).collect();
        species.sort_by(|a, b| a.1.cmp(&b.1));
        let sites = shown.sites.iter().filter(|s| covered.contains(&s.id));
        let sets = shown.look_alikes.iter().filter(|set| {
            let members = set.members.iter();
            members.filter(|m| is_listed(&shown, &m.species)).count() >= 2
        });
        Ok(Offer {
            sites: sites.map(|s| (s.id.clone(), s.name.clone())).collect(),
            sets: sets.map(|s| (s.id.clone(), s.title.clone())).collect(),
            languages: languages(&shown),
            species,
            language: shown.language.clone(),
        })
    }

    /// Whether a site of that id can be chosen.
    pub fn has_site(&self, id: &str) -> bool {
        self.sites.iter().any(|(known, _)| known == id)
    }

    /// Whether a set of that id can be chosen.
    pub fn has_set(&self, id: &str) -> bool {
        self.sets.iter().any(|(known, _)| known == id)
    }

    /// Whether a species of that scientific name can be chosen.
    pub fn has_species(&self, name: &str) -> bool {
        self.species.iter().any(|(known, _)| known == name)
    }

    /// Whether names can be had in that language.
    pub fn has_language(&self, tag: &str) -> bool {
        self.languages.contains(tag)
    }

    /// A language as people read it.
    pub fn language_name(tag: &str) -> &str {
        let known: BTreeMap<&str, &str> = OWN_NAMES.into();
        known.get(tag).copied().unwrap_or(tag)
    }
}

fn is_listed(workspace: &Workspace, species: &str) -> bool {
    workspace.species.iter().any(|s| s.scientific == species)
}

fn languages(shown: &Workspace) -> BTreeSet<String> {
    let own = shown.species.iter().flat_map(|s| s.names.keys());
    let members = shown.look_alikes.iter().flat_map(|set| &set.members);
    let in_sets = members
        .filter(|m| is_listed(shown, &m.species))
        .flat_map(|m| m.names.keys());
    let mut all: BTreeSet<String> = own.chain(in_sets).cloned().collect();
    all.insert(shown.language.clone());
    all.insert(SCIENTIFIC.to_owned());
    all
}

#[cfg(test)]
impl Offer {
    /// Two sites, a set, two species.
    pub(super) fn example() -> Self {
        let pairs = |all: &[(&str, &str)]| -> Vec<(String, String)> {
            let owned = all.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned()));
            owned.collect()
        };
        Offer {
            sites: pairs(&[("long-bank", "Long Bank"), ("loch-arne", "Loch Arne")]),
            sets: pairs(&[("small-sandpipers", "Small sandpipers")]),
            species: pairs(&[
                ("Calidris alpina", "Dunlin"),
                ("Calidris minuta", "Little Stint"),
            ]),
            languages: ["de", "en", SCIENTIFIC].map(str::to_owned).into(),
            language: "en".to_owned(),
        }
    }
}
