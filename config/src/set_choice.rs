//! `[look_alikes]`: which sets guidance covers, the shipped ones and the workspace's own.

use crate::look_alikes::{self, LookAlikeSet};
use crate::nearest::folded;
use crate::own_sets::{self, ReadSetFile};
use crate::raw::{Key, Section, did_you_mean};
use crate::settings::Species;
use std::path::Path;

const KEYS: &[Key] = &[
    Key("use", r#"a list of set ids, such as ["small-sandpipers"]"#),
    Key("set", "a [[look_alikes.set]] for each set of your own"),
];

/// The sets in order: the shipped ones that are used, as `use` lists them, then the workspace's
/// own. A set of its own
/// with a shipped one's id stands in its place. Members go by the workspace's scientific names.
pub(crate) fn read(
    top: &Section<'_>,
    root: &Path,
    species: &[Species],
    read_set_file: ReadSetFile<'_>,
) -> Option<Vec<LookAlikeSet>> {
    let shipped = look_alikes::shipped()
        .map_err(|e| top.doc().take_over(e))
        .ok()?;
    let section = top.section("look_alikes", KEYS);
    let own = section
        .as_ref()
        .map_or_else(Vec::new, |s| own_sets::read(s, root, read_set_file));
    let named = section.as_ref().and_then(|s| named(s, &shipped, &own));
    let wanted = |set: &LookAlikeSet| match &named {
        Some(ids) => ids.contains(&set.id),
        None => {
            species.is_empty()
                || set
                    .members
                    .iter()
                    .filter(|m| accepted(species, &m.species).is_some())
                    .count()
                    >= 2
        }
    };
    let mut sets: Vec<LookAlikeSet> = shipped.into_iter().filter(wanted).collect();
    if let Some(ids) = &named {
        sets.sort_by_key(|set| ids.iter().position(|id| *id == set.id));
    }
    for set in own {
        match sets.iter_mut().find(|other| other.id == set.id) {
            Some(other) => *other = set,
            None => sets.push(set),
        }
    }
    Some(
        sets.into_iter()
            .map(|set| in_our_names(set, species))
            .collect(),
    )
}

/// The ids of `use`; None where it is left out.
fn named(
    section: &Section<'_>,
    shipped: &[LookAlikeSet],
    own: &[LookAlikeSet],
) -> Option<Vec<String>> {
    let known = || shipped.iter().chain(own).map(|set| set.id.as_str());
    let mut ids = Vec::new();
    for id in section.texts("use", false)? {
        if !known().any(|k| k == id.get_ref()) {
            let message = format!(
                "unknown look-alike set {:?} in use of {}; expected the id of a shipped set, which \"wingtide set\" lists, or of one of your own",
                id.get_ref(),
                section.title()
            );
            section.refuse(&id, message, did_you_mean(id.get_ref(), known()));
        } else if ids.contains(id.get_ref()) {
            let message = format!(
                "look-alike set {:?} stands twice in use of {}",
                id.get_ref(),
                section.title()
            );
            section.refuse(&id, message, None);
        }
        ids.push(id.into_inner());
    }
    Some(ids)
}

/// The scientific name under which the workspace has a member, by any of its names.
fn accepted<'s>(species: &'s [Species], member: &str) -> Option<&'s str> {
    let name = folded(member);
    let found = species.iter().find(|s| s.answers_to(&name));
    found.map(|s| s.scientific.as_str())
}

/// The set with each member under the workspace's scientific name, so that the members meet
/// their counts. A name is kept where two members would become one.
fn in_our_names(mut set: LookAlikeSet, species: &[Species]) -> LookAlikeSet {
    let renamed: Vec<(String, String)> = set
        .members
        .iter()
        .filter_map(|m| Some((m.species.clone(), accepted(species, &m.species)?.to_owned())))
        .filter(|(theirs, ours)| theirs != ours)
        .collect();
    for (theirs, ours) in renamed {
        if set.member(&ours).is_none() {
            set.rename(&theirs, &ours);
        }
    }
    set
}
