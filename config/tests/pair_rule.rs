//! The rule of pairs on small sets made for it: what passes, what breaks it, and how it is said.

use config::look_alikes::{LookAlikeSet, parse_set};

const MEMBERS: &str = r#"id = "pair"
title = "A pair"
source = "ours"
review = "ours"
[[member]]
species = "Aa aa"
plumages = [
  { region = "nearctic", plumage = "juvenile", months = [8, 9] },
  { region = "nearctic", plumage = "adult-breeding-female", months = [5] },
]
[[member]]
species = "Bb bb"
plumages = [{ region = "nearctic", plumage = "first-winter", months = [9, 10] }]
[[member]]
species = "Cc cc"
plumages = [{ region = "neotropics", plumage = "first-winter", months = [9] }]
"#;

fn mark(part: &str, trust: &str, rest: &str) -> String {
    format!(
        "[[mark]]\npart = \"{part}\"\ntrust = \"{trust}\"\n{rest}\n\
         [[mark.shows]]\nmembers = [\"Aa aa\"]\ntext = \"Long.\"\n\
         [[mark.shows]]\nmembers = [\"Bb bb\"]\ntext = \"Short.\"\n"
    )
}

fn set(rest: &[String]) -> LookAlikeSet {
    let text = format!("{MEMBERS}{}", rest.concat());
    parse_set("pair.toml", &text).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

fn broken(rest: &[String]) -> Vec<String> {
    set(rest)
        .unseparated()
        .iter()
        .map(ToString::to_string)
        .collect()
}

const EXPECTED: &str = "expected two marks or more, one of them of structure or voice, or a \
    [[cannot_tell]] with always = true";
const MEET: &str = "Aa aa (juvenile) and Bb bb (first-winter) meet in nearctic in September, and";

#[test]
fn two_marks_with_a_firm_one_suffice() {
    for firm in ["structure", "voice"] {
        assert!(broken(&[mark("bill", firm, ""), mark("rump", "pattern", "")]).is_empty());
    }
}

#[test]
fn what_does_not_suffice_is_said() {
    let none = format!("{MEET} no mark separates them; {EXPECTED}");
    let one = format!("{MEET} only the mark \"bill\" separates them; {EXPECTED}");
    let soft = format!(
        "{MEET} of the marks that separate them (\"bill\" and \"rump\") none is of structure or voice; {EXPECTED}"
    );
    let bill = mark("bill", "structure", "");
    assert_eq!(broken(&[]), [none]);
    assert_eq!(
        broken(std::slice::from_ref(&bill)),
        std::slice::from_ref(&one)
    );
    // a mark that changes with light, and the same part again, are no second mark
    assert_eq!(
        broken(&[bill.clone(), mark("size", "light", "")]),
        std::slice::from_ref(&one)
    );
    assert_eq!(
        broken(&[bill.clone(), mark("bill", "voice", "")]),
        std::slice::from_ref(&one)
    );
    let soft_marks = [mark("bill", "behaviour", ""), mark("rump", "pattern", "")];
    assert_eq!(broken(&soft_marks), [soft]);
    // neither is one of another month, region, plumage, or that excepts the pair
    for elsewhere in [
        "months = [8, 10]",
        "plumages = [\"juvenile\"]",
        "not_between = [[\"Bb bb\", \"Aa aa\"]]",
    ] {
        assert_eq!(
            broken(&[bill.clone(), mark("rump", "pattern", elsewhere)]),
            std::slice::from_ref(&one),
            "{elsewhere}"
        );
    }
}

#[test]
fn months_with_the_same_fault_are_one_sentence() {
    let wider = MEMBERS.replace("months = [8, 9]", "months = [9, 10]");
    let set = parse_set("pair.toml", &wider).unwrap();
    let told: Vec<String> = set.unseparated().iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 1);
    assert!(
        told[0].contains("in nearctic in September and October, and"),
        "{told:?}"
    );
}

#[test]
fn giving_up_counts_only_where_no_view_helps() {
    let cannot = |rest: &str| {
        format!(
            "[[cannot_tell]]\nmembers = [\"Aa aa\", \"Bb bb\"]\n{rest}\ntext = \"Record both.\"\n"
        )
    };
    assert_eq!(broken(&[cannot("")]).len(), 1);
    assert_eq!(broken(&[cannot("always = false")]).len(), 1);
    assert_eq!(broken(&[cannot("always = true\nmonths = [10]")]).len(), 1);
    assert!(broken(&[cannot("always = true")]).is_empty());
    assert!(broken(&[cannot("always = true\nmonths = [9]")]).is_empty());
}

/// What is said of females holds for adult females; a member of another region is never met.
#[test]
fn wider_terms_cover_narrower_ones() {
    let member = MEMBERS.replace("months = [9, 10]", "months = [5]");
    let said_of = |plumages: &str| {
        let marks = ["structure", "voice"]
            .map(|t| mark(t, t, plumages))
            .concat();
        let set = parse_set("pair.toml", &format!("{member}{marks}"));
        set.unwrap_or_else(|e| panic!("{e}")).unseparated().len()
    };
    assert_eq!(said_of(r#"plumages = ["female", "first-winter"]"#), 0);
    assert_eq!(said_of(r#"plumages = ["adult", "first-winter"]"#), 0);
    assert_eq!(said_of(r#"plumages = ["juvenile", "first-winter"]"#), 1);
}

#[test]
fn a_set_that_holds_is_told_what_it_leaves_out() {
    let advice = set(&[
        mark("bill", "structure", ""),
        mark("rump", "pattern", "months = [1]"),
    ])
    .advice();
    assert_eq!(
        advice[..3],
        [
            "Aa aa has no names in English and another language",
            "Aa aa does not say what a description must contain",
            "Bb bb has no names in English and another language",
        ]
    );
    assert_eq!(
        advice[6..],
        [
            "the mark \"bill\" names no trap",
            "the mark \"rump\" names no trap",
            "the mark \"rump\" separates no two members in any month in which both are about",
            "no mark warns of what changes with light",
            "no [[cannot_tell]] says what cannot be told apart",
        ]
    );
}

#[test]
fn a_tail_that_cannot_be_drawn_is_told() {
    let told = |proportions: &str| {
        let text = format!("{MEMBERS}[member.proportions]\n{proportions}\n");
        let set = parse_set("pair.toml", &text).unwrap_or_else(|e| panic!("{e}\n{text}"));
        let advice = set.advice();
        let tails: Vec<&String> = advice.iter().filter(|a| a.contains("tail")).collect();
        tails.into_iter().cloned().collect::<Vec<String>>()
    };
    let expected =
        "Cc cc states tail_length or tail_shape without the other, so that no tail is drawn";
    assert_eq!(told("tail_length = 1.0"), [expected]);
    assert_eq!(told("tail_shape = \"forked\"\ntail_step = 0.1"), [expected]);
    let whole = "tail_length = 1.0\ntail_shape = \"forked\"\ntail_step = 0.1";
    assert_eq!(told(whole), [""; 0]);
    assert_eq!(told("leg_length = 1.0"), [""; 0]);
}
