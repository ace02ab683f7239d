//! `[[mark]]` and `[[cannot_tell]]`: what is said of the members.

use super::refuse_all;
use crate::look_alikes::regions::read_region;
use crate::look_alikes::{CannotTell, Mark, Member, Plumage, Region, Shows, Trust, check};
use crate::raw::{Key, Section, did_you_mean};
use toml::Spanned;

const MARK: &[Key] = &[
    Key("part", r#"a part of the bird such as "bill""#),
    Key("trust", "structure, pattern, voice, behaviour or light"),
    Key("plumages", PLUMAGES),
    Key(
        "regions",
        r#"a list of regions such as ["western-palearctic"]"#,
    ),
    Key(
        "shows",
        "a [[mark.shows]] for each group of members, two or more",
    ),
    Key("trap", "what makes the mark mislead"),
];
const SHOWS: &[Key] = &[
    Key("members", MEMBERS),
    Key("plumages", PLUMAGES),
    Key("text", "what it looks like"),
];
const CANNOT_TELL: &[Key] = &[
    Key("members", MEMBERS),
    Key("plumages", PLUMAGES),
    Key("text", "what to record instead"),
];
const MEMBERS: &str = "a list of scientific names of the set's members";
const PLUMAGES: &str = r#"a list of plumages such as ["juvenile"]"#;

/// Every `[[mark]]` about the members.
pub(super) fn read(top: &Section<'_>, members: &[Member]) -> Vec<Mark> {
    let sections = top.sections("mark", MARK);
    sections.iter().filter_map(|s| mark(s, members)).collect()
}

/// Every `[[cannot_tell]]` about the members.
pub(super) fn read_cannot_tell(top: &Section<'_>, members: &[Member]) -> Vec<CannotTell> {
    let sections = top.sections("cannot_tell", CANNOT_TELL);
    sections
        .iter()
        .filter_map(|s| cannot_tell(s, members))
        .collect()
}

fn mark(section: &Section<'_>, members: &[Member]) -> Option<Mark> {
    let part = section.need_text("part").map(Spanned::into_inner);
    let trust: Option<Trust> = section.need_choice("trust", &Trust::NAMES);
    let shows = section
        .need("shows")
        .map_or_else(Vec::new, |()| section.sections("shows", SHOWS));
    let read: Vec<Option<Shows>> = shows.iter().map(|s| shows_of(s, members)).collect();
    let whole = read.iter().all(Option::is_some);
    let mark = Mark {
        part: part?,
        trust: trust?,
        plumages: plumages(section),
        regions: regions(section),
        shows: read.into_iter().flatten().collect(),
        trap: section.paragraph("trap"),
    };
    // A mark that could not be read whole would be blamed for what is missing.
    if whole {
        refuse_all(section, check::mark(&mark, members));
    }
    Some(mark)
}

fn shows_of(section: &Section<'_>, members: &[Member]) -> Option<Shows> {
    let text = section.need_paragraph("text");
    let members = member_names(section, members);
    Some(Shows {
        members: members?,
        plumages: plumages(section),
        text: text?,
    })
}

fn cannot_tell(section: &Section<'_>, members: &[Member]) -> Option<CannotTell> {
    let text = section.need_paragraph("text");
    let names = member_names(section, members);
    let entry = CannotTell {
        members: names?,
        plumages: plumages(section),
        text: text?,
    };
    refuse_all(section, check::cannot_tell(&entry, members));
    Some(entry)
}

/// Names of the set's members; None where one is unknown.
fn member_names(section: &Section<'_>, members: &[Member]) -> Option<Vec<String>> {
    section.need("members")?;
    let written = section.texts("members", false)?;
    let known = || members.iter().map(|m| m.species.as_str());
    let mut names: Vec<String> = Vec::new();
    for name in &written {
        if !known().any(|k| k == name.get_ref()) {
            let message = format!(
                "unknown member {:?} in {}; expected the species of a [[member]]",
                name.get_ref(),
                section.title()
            );
            section.refuse(name, message, did_you_mean(name.get_ref(), known()));
        } else if names.contains(name.get_ref()) {
            section.refuse(
                name,
                format!(
                    "{:?} stands twice in members of {}",
                    name.get_ref(),
                    section.title()
                ),
                None,
            );
        } else {
            names.push(name.get_ref().clone());
        }
    }
    if section.is_empty_list("members") {
        section.refuse_key(
            "members",
            format!(
                "members of {} are empty; expected {MEMBERS}",
                section.title()
            ),
        );
        return None;
    }
    (names.len() == written.len()).then_some(names)
}

fn plumages(section: &Section<'_>) -> Vec<Plumage> {
    let written = section.texts("plumages", false).unwrap_or_default();
    written
        .iter()
        .filter_map(|p| section.choose("plumage", p, &Plumage::NAMES))
        .collect()
}

fn regions(section: &Section<'_>) -> Vec<Region> {
    let written = section.texts("regions", false).unwrap_or_default();
    written
        .iter()
        .filter_map(|r| read_region(section, r))
        .collect()
}
