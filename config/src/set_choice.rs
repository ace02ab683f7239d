//! `[look_alikes]`: which sets guidance covers, the shipped ones and the workspace's own.

use crate::look_alikes::{self, LookAlikeSet, Member};
use crate::nearest::folded;
use crate::own_sets;
use crate::raw::{Key, Section, did_you_mean};
use crate::set_files::{self, SetFiles};
use crate::settings::Species;
use std::path::Path;

const KEYS: &[Key] = &[
    Key("use", r#"a list of set ids, such as ["small-sandpipers"]"#),
    Key(
        "folder",
        r#"a folder with set files of your own, such as "sets""#,
    ),
    Key("set", "a [[look_alikes.set]] for each set of your own"),
];

/// The sets of a workspace.
pub(crate) struct Sets {
    /// Those that guidance covers, in order.
    pub(crate) used: Vec<LookAlikeSet>,
    /// Every one that may be shown.
    pub(crate) library: Vec<LookAlikeSet>,
}

/// The library is what ships, with the files of the workspace's folder beside it or, by their
/// ids, in its place. Of the library those are used that `use` lists, in its order, else those
/// with two members among the species; then the workspace's own sets, each in the place of one
/// with its id. Members go by the workspace's scientific names.
pub(crate) fn read(
    top: &Section<'_>,
    root: &Path,
    species: &[Species],
    files: &dyn SetFiles,
) -> Option<Sets> {
    let shipped = look_alikes::shipped()
        .map_err(|e| top.doc().take_over(e))
        .ok()?;
    let section = top.section("look_alikes", KEYS);
    let section = section.as_ref();
    let folder = section.map_or_else(Vec::new, |s| set_files::of_folder(s, root, files));
    let own = section.map_or_else(Vec::new, |s| own_sets::read(s, root, files));
    let library = laid_over(shipped, folder);
    let named = section.and_then(|s| named(s, &library, &own));
    let wanted = |set: &&LookAlikeSet| match &named {
        Some(ids) => ids.contains(&set.id),
        None => species.is_empty() || has_two_of(species, set),
    };
    let mut used: Vec<LookAlikeSet> = library.iter().filter(wanted).cloned().collect();
    if let Some(ids) = &named {
        used.sort_by_key(|set| ids.iter().position(|id| *id == set.id));
    }
    let ours = |sets: Vec<LookAlikeSet>| {
        let sets = sets.into_iter().map(|set| in_our_names(set, species));
        sets.collect()
    };
    Some(Sets {
        used: ours(laid_over(used, own.clone())),
        library: ours(laid_over(library, own)),
    })
}

/// Each set over the one with its id, else after all.
fn laid_over(mut sets: Vec<LookAlikeSet>, over: Vec<LookAlikeSet>) -> Vec<LookAlikeSet> {
    for set in over {
        match sets.iter_mut().find(|other| other.id == set.id) {
            Some(other) => *other = set,
            None => sets.push(set),
        }
    }
    sets
}

fn has_two_of(species: &[Species], set: &LookAlikeSet) -> bool {
    let ours = |m: &&Member| accepted(species, &m.species).is_some();
    set.members.iter().filter(ours).count() >= 2
}

/// The ids of `use`; None where it is left out.
fn named(
    section: &Section<'_>,
    library: &[LookAlikeSet],
    own: &[LookAlikeSet],
) -> Option<Vec<String>> {
    let known = || library.iter().chain(own).map(|set| set.id.as_str());
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
