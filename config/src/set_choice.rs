//! `[look_alikes]`: which sets guidance covers, the shipped ones and the workspace's own.

use crate::ids::Ids;
use crate::look_alikes::{self, LookAlikeSet, Member};
use crate::nearest::folded;
use crate::raw::{Key, Section, did_you_mean};
use crate::settings::Species;
use crate::species::{SCIENTIFIC, scientific_name};
use std::collections::BTreeMap;
use std::io;
use std::path::Path;
use toml::Spanned;

const KEYS: &[Key] = &[
    Key("use", r#"a list of set ids, such as ["small-sandpipers"]"#),
    Key("set", "a [[look_alikes.set]] for each set of your own"),
];

const SET: &[Key] = &[
    Key("id", crate::ID),
    Key("title", "the set's title"),
    Key("members", MEMBERS),
    Key("file", "the name of a set's file, relative to this one"),
];

const MEMBERS: &str = "a list of two scientific names or more";

type ReadSetFile<'f> = &'f dyn Fn(&Path) -> io::Result<String>;

/// The sets in order: the shipped ones that are used, then the workspace's own. A set of its own
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
        .map_or_else(Vec::new, |s| own_sets(s, root, read_set_file));
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
                "unknown look-alike set {:?} in use of {}; expected {}",
                id.get_ref(),
                section.title(),
                crate::nearest::one_of(known())
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

fn own_sets(
    section: &Section<'_>,
    root: &Path,
    read_set_file: ReadSetFile<'_>,
) -> Vec<LookAlikeSet> {
    let mut ids = Ids::default();
    let mut sets: Vec<LookAlikeSet> = Vec::new();
    for section in section.sections("set", SET) {
        let set = match section.has("file") {
            true => from_file(&section, root, read_set_file),
            false => from_members(&section, &mut ids),
        };
        match set {
            Some(set) if sets.iter().any(|other| other.id == set.id) => {
                section.refuse_here(format!(
                    "{} has the id {:?} of a set above it",
                    section.title(),
                    set.id
                ));
            }
            Some(set) => sets.push(set),
            None => {}
        }
    }
    sets
}

fn from_file(
    section: &Section<'_>,
    root: &Path,
    read_set_file: ReadSetFile<'_>,
) -> Option<LookAlikeSet> {
    for key in ["id", "title", "members"]
        .into_iter()
        .filter(|key| section.has(key))
    {
        let message = format!(
            "{} has both a file and {key}; the file says all of it",
            section.title()
        );
        section.refuse_key(key, message);
    }
    let file = section.need_text("file")?;
    let text = match read_set_file(&root.join(file.get_ref())) {
        Ok(text) => text,
        Err(e) => {
            let message = format!(
                "file {:?} in {}: {}",
                file.get_ref(),
                section.title(),
                crate::cannot_read(&e)
            );
            section.refuse(&file, message, None);
            return None;
        }
    };
    look_alikes::parse_set(file.get_ref(), &text)
        .map_err(|e| section.doc().take_over(e))
        .ok()
}

fn from_members(section: &Section<'_>, ids: &mut Ids) -> Option<LookAlikeSet> {
    let id = ids.take(section);
    let title = section.need_text("title").map(Spanned::into_inner);
    section.need("members")?;
    let names = section.texts("members", false)?;
    let members = members(section, &names);
    if names.len() < 2 {
        section.refuse_key(
            "members",
            format!(
                "members of {} are too few; expected {MEMBERS}",
                section.title()
            ),
        );
    }
    Some(LookAlikeSet {
        id: id?,
        title: title?,
        source: "this workspace".to_owned(),
        review: "members alone, no marks to review".to_owned(),
        members,
        marks: Vec::new(),
        cannot_tell: Vec::new(),
    })
}

fn members(section: &Section<'_>, names: &[Spanned<String>]) -> Vec<Member> {
    let mut members: Vec<Member> = Vec::new();
    for name in names
        .iter()
        .filter_map(|n| scientific_name(section, "members", n))
    {
        if members.iter().any(|m| m.species == *name.get_ref()) {
            let message = format!(
                "{:?} stands twice in members of {}; expected each {SCIENTIFIC} once",
                name.get_ref(),
                section.title()
            );
            section.refuse(&name, message, None);
        }
        members.push(Member {
            species: name.into_inner(),
            names: BTreeMap::new(),
            plumages: Vec::new(),
            describe: None,
        });
    }
    members
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
