//! `[[mark]]` and `[[cannot_tell]]`: what is said of the members.

use super::{months, refuse_all};
use crate::look_alikes::regions::read_region;
use crate::look_alikes::{
    CannotTell, Mark, Member, Plumage, Region, Shows, Trap, TrapKind, Trust, check,
};
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
    Key("months", MONTHS),
    Key(
        "shows",
        "a [[mark.shows]] for each group of members, two or more",
    ),
    Key(
        "not_between",
        r#"a list of pairs such as [["Calidris alpina", "Calidris ferruginea"]]"#,
    ),
    Key("trap", "what makes the mark mislead"),
    Key(
        "traps",
        r#"traps by kind such as { wear = "Bleached birds look alike." }"#,
    ),
];
const SHOWS: &[Key] = &[
    Key("members", MEMBERS),
    Key("plumages", PLUMAGES),
    Key("text", "what it looks like"),
];
const CANNOT_TELL: &[Key] = &[
    Key("members", MEMBERS),
    Key("plumages", PLUMAGES),
    Key("months", MONTHS),
    Key(
        "always",
        "true where no view, however good, tells them apart",
    ),
    Key("text", "what to record instead"),
];
const MEMBERS: &str = "a list of scientific names of the set's members";
const MONTHS: &str = "a list of months from 1 to 12";
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
    let not_between = pairs(section, members);
    let read: Vec<Option<Shows>> = shows.iter().map(|s| shows_of(s, members)).collect();
    let whole = read.iter().all(Option::is_some) && not_between.is_some();
    let mark = Mark {
        part: part?,
        trust: trust?,
        plumages: plumages(section),
        regions: regions(section),
        months: months(section),
        shows: read.into_iter().flatten().collect(),
        not_between: not_between.unwrap_or_default(),
        traps: traps(section),
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
        months: months(section),
        always: section.flag("always"),
        text: text?,
    };
    refuse_all(section, check::cannot_tell(&entry, members));
    Some(entry)
}

/// The general trap, then those by kind.
fn traps(section: &Section<'_>) -> Vec<Trap> {
    let general = section
        .paragraph("trap")
        .map(|text| Trap { kind: None, text });
    let by_kind = section
        .pairs("traps")
        .into_iter()
        .filter_map(|(kind, text)| {
            let kind = section.choose("kind of trap", &kind, &TrapKind::NAMES)?;
            let text = text.into_inner();
            Some(Trap {
                kind: Some(kind),
                text,
            })
        });
    let mut by_kind: Vec<Trap> = by_kind.collect();
    by_kind.sort_by_key(|trap| trap.kind);
    general.into_iter().chain(by_kind).collect()
}

/// The pairs of `not_between`; None where one is not of two members.
fn pairs(section: &Section<'_>, members: &[Member]) -> Option<Vec<(String, String)>> {
    let written = section.text_lists("not_between");
    let mut pairs = Vec::new();
    for names in &written {
        match &names[..] {
            [a, b] if is_member(section, a, members) && is_member(section, b, members) => {
                pairs.push((a.get_ref().clone(), b.get_ref().clone()));
            }
            [_, _] => {}
            _ => section.refuse_key(
                "not_between",
                format!(
                    "not_between in {} has a list of {}; expected pairs, each of two members",
                    section.title(),
                    names.len()
                ),
            ),
        }
    }
    (pairs.len() == written.len()).then_some(pairs)
}

/// Is that a member of the set? Noted where it is not.
fn is_member(section: &Section<'_>, name: &Spanned<String>, members: &[Member]) -> bool {
    let known = || members.iter().map(|m| m.species.as_str());
    let found = known().any(|k| k == name.get_ref());
    if !found {
        let message = format!(
            "unknown member {:?} in {}; expected the species of a [[member]]",
            name.get_ref(),
            section.title()
        );
        section.refuse(name, message, did_you_mean(name.get_ref(), known()));
    }
    found
}

/// Names of the set's members; None where one is unknown.
fn member_names(section: &Section<'_>, members: &[Member]) -> Option<Vec<String>> {
    section.need("members")?;
    let written = section.texts("members", false)?;
    let mut names: Vec<String> = Vec::new();
    for name in &written {
        if !is_member(section, name, members) {
            continue;
        }
        if names.contains(name.get_ref()) {
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
