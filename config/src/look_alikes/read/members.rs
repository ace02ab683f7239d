//! `[[member]]`: a species, its plumages and the months in which each is seen.

use super::{months, proportions, refuse_all};
use crate::look_alikes::regions::read_region;
use crate::look_alikes::{Member, Plumage, PlumageMonths, check};
use crate::raw::{Key, Section};
use crate::species::{NAMES, SCIENTIFIC, by_language, scientific_name};

const MEMBER: &[Key] = &[
    Key("species", SCIENTIFIC),
    Key("names", NAMES),
    Key(
        "plumages",
        r#"a list such as [{ region = "western-palearctic", plumage = "juvenile", months = [7, 8] }]"#,
    ),
    Key("describe", "what a written description must contain"),
    Key(
        "proportions",
        "a [member.proportions] with ratios for line drawings",
    ),
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

/// Every `[[member]]`, two or more, each once.
pub(super) fn read(top: &Section<'_>) -> Vec<Member> {
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
    let plumages = plumages_by_month(section);
    let describe = section.paragraph("describe");
    let proportions = proportions::read(section);
    Some(Member {
        species: scientific_name(section, "species", &species?)?.into_inner(),
        names,
        plumages,
        describe,
        proportions,
    })
}

fn plumages_by_month(section: &Section<'_>) -> Vec<PlumageMonths> {
    if section.need("plumages").is_none() {
        return Vec::new();
    }
    if section.is_empty_list("plumages") {
        section.need_items("plumages");
    }
    let written = section.sections("plumages", PLUMAGE);
    written.iter().filter_map(plumage_months).collect()
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
