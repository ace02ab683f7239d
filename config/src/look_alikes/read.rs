//! Look-alike set files, from text to a checked [`LookAlikeSet`].

use super::regions::read_region;
use super::{
    CannotTell, LookAlikeSet, Mark, Member, Plumage, PlumageMonths, Region, Shows, Trust, check,
};
use crate::error::ConfigError;
use crate::ids::Ids;
use crate::raw::{Document, Key, Section, did_you_mean};
use crate::species::{NAMES, SCIENTIFIC, by_language, scientific_name};
use toml::Spanned;

const SET: &[Key] = &[
    Key("id", crate::ID),
    Key("title", "the set's title in words"),
    Key(
        "source",
        r#"where the knowledge comes from, such as "common practice, no source""#,
    ),
    Key("review", r#"who has reviewed it, such as "author only""#),
    Key("member", "a [[member]] for each species, two or more"),
    Key("mark", "a [[mark]] for each feature that separates them"),
    Key(
        "cannot_tell",
        "a [[cannot_tell]] for what cannot be told apart",
    ),
];
const MEMBER: &[Key] = &[
    Key("species", SCIENTIFIC),
    Key("names", NAMES),
    Key(
        "plumages",
        r#"a list such as [{ region = "western-palearctic", plumage = "juvenile", months = [7, 8] }]"#,
    ),
    Key("describe", "what a written description must contain"),
];
const PLUMAGE: &[Key] = &[
    Key(
        "region",
        r#"a part of the world such as "western-palearctic""#,
    ),
    Key("plumage", r#"a plumage such as "juvenile""#),
    Key("months", "a list of months from 1 to 12"),
    Key("moult", "what the moult changes and when"),
];
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

/// Checks the text of a set file; `file` is its name for messages.
///
/// # Errors
/// Every problem of the text, each as one sentence.
pub fn parse_set(file: &str, text: &str) -> Result<LookAlikeSet, ConfigError> {
    let doc = Document::new(file, text);
    let tree = doc.tree()?;
    let set = set(&Section::top(&doc, &tree, SET));
    doc.finish()?;
    // Nothing was noted, so nothing that is needed was missing.
    set.ok_or_else(|| ConfigError::of_file(file, "this set is not complete".to_owned(), None))
}

fn set(top: &Section<'_>) -> Option<LookAlikeSet> {
    let id = Ids::default().take(top);
    let [title, source, review] =
        ["title", "source", "review"].map(|key| top.need_text(key).map(Spanned::into_inner));
    let members = members(top);
    let marks = top.sections("mark", MARK);
    let marks: Vec<Mark> = marks.iter().filter_map(|s| mark(s, &members)).collect();
    let cannot_tell = top.sections("cannot_tell", CANNOT_TELL);
    let cannot_tell = cannot_tell
        .iter()
        .filter_map(|s| cannot_tell_entry(s, &members))
        .collect();
    Some(LookAlikeSet {
        id: id?,
        title: title?,
        source: source?,
        review: review?,
        members,
        marks,
        cannot_tell,
    })
}

fn members(top: &Section<'_>) -> Vec<Member> {
    let sections = top.sections("member", MEMBER);
    if sections.len() < 2 {
        let message = format!(
            "{} has {} [[member]]; expected two or more",
            top.title(),
            sections.len()
        );
        top.refuse_here(message);
    }
    let mut members: Vec<Member> = Vec::new();
    for section in &sections {
        let Some(member) = member(section) else {
            continue;
        };
        if members.iter().any(|m| m.species == member.species) {
            section.refuse_here(format!("{} is a [[member]] twice", member.species));
            continue;
        }
        refuse_all(section, check::member(&member));
        members.push(member);
    }
    members
}

fn member(section: &Section<'_>) -> Option<Member> {
    let species = section.need_text("species");
    let names = by_language(section, section.pairs("names"));
    let plumages = section
        .need("plumages")
        .map_or_else(Vec::new, |()| section.sections("plumages", PLUMAGE));
    let plumages = plumages.iter().filter_map(plumage_months).collect();
    let describe = section.paragraph("describe");
    Some(Member {
        species: scientific_name(section, "species", &species?)?.into_inner(),
        names,
        plumages,
        describe,
    })
}

fn plumage_months(section: &Section<'_>) -> Option<PlumageMonths> {
    let region = section
        .need_text("region")
        .and_then(|r| read_region(section, &r));
    let plumage = section.need_choice("plumage", &Plumage::NAMES);
    let months = section
        .need("months")
        .map_or_else(Vec::new, |()| months(section));
    let moult = section.paragraph("moult");
    Some(PlumageMonths {
        region: region?,
        plumage: plumage?,
        months,
        moult,
    })
}

fn months(section: &Section<'_>) -> Vec<u8> {
    let written = section.wholes("months", 1..=12);
    let mut months = Vec::new();
    for month in &written {
        if months.contains(month.get_ref()) {
            section.refuse(
                month,
                format!(
                    "month {} stands twice in months of {}",
                    month.get_ref(),
                    section.title()
                ),
                None,
            );
        }
        months.push(*month.get_ref());
    }
    if section.is_empty_list("months") {
        section.refuse_key(
            "months",
            format!(
                "months of {} are empty; expected one month or more",
                section.title()
            ),
        );
    }
    months
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

fn cannot_tell_entry(section: &Section<'_>, members: &[Member]) -> Option<CannotTell> {
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

fn refuse_all(section: &Section<'_>, faults: Vec<String>) {
    for fault in faults {
        section.refuse_here(fault);
    }
}
