//! `[[look_alikes.set]]`: the workspace's own look-alike sets.

use crate::ids::Ids;
use crate::look_alikes::{self, LookAlikeSet, Member};
use crate::raw::{Key, Section};
use crate::set_files::SetFiles;
use crate::species::{SCIENTIFIC, scientific_name};
use std::collections::BTreeMap;
use std::path::Path;
use toml::Spanned;

const SET: &[Key] = &[
    Key("id", crate::ID),
    Key("title", "the set's title"),
    Key("members", MEMBERS),
    Key("file", "the name of a set's file, relative to this one"),
];

const MEMBERS: &str = "a list of two scientific names or more";

/// The sets of `[look_alikes]`, by members alone or from files below `root`.
pub(crate) fn read(section: &Section<'_>, root: &Path, files: &dyn SetFiles) -> Vec<LookAlikeSet> {
    let mut ids = Ids::default();
    let mut sets: Vec<LookAlikeSet> = Vec::new();
    for section in section.sections("set", SET) {
        let set = match section.has("file") {
            true => from_file(&section, root, files),
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

fn from_file(section: &Section<'_>, root: &Path, files: &dyn SetFiles) -> Option<LookAlikeSet> {
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
    let text = match files.text(&root.join(file.get_ref())) {
        Ok(text) => text,
        Err(e) => {
            let message = format!(
                "file {:?} of {} {}",
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
            proportions: None,
        });
    }
    members
}
