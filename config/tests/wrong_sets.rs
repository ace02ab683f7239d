//! What a person reads when a look-alike set file is wrong: one exact sentence a problem.

use config::look_alikes::parse_set;

const BASE: &str = r#"id = "pair"
title = "A pair"
source = "common practice, no source"
review = "author only"
[[member]]
species = "Calidris minuta"
names = { en = "Little Stint" }
plumages = [
  { region = "western-palearctic", plumage = "juvenile", months = [8, 9] },
  { region = "western-palearctic", plumage = "adult-breeding", months = [5, 6] },
]
[[member]]
species = "Calidris alpina"
plumages = [
  { region = "western-palearctic", plumage = "juvenile", months = [7, 8, 9] },
  { region = "western-palearctic", plumage = "all-alike", months = [1, 2] },
]
[[mark]]
part = "bill"
trust = "structure"
plumages = ["juvenile"]
regions = ["western-palearctic"]
[[mark.shows]]
members = ["Calidris minuta"]
text = "Short."
[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
[[cannot_tell]]
members = ["Calidris minuta", "Calidris alpina"]
plumages = ["juvenile"]
text = "Asleep."
"#;

fn said_of(text: &str) -> String {
    match parse_set("my-set.toml", text) {
        Ok(_) => "nothing".to_owned(),
        Err(e) => e.to_string(),
    }
}

#[test]
fn the_base_is_right() {
    assert_eq!(said_of(BASE), "nothing");
}

/// What stands in BASE, what a person wrote instead, and what they read.
const WRONG: &[(&str, &str, &str)] = &[
    (
        r#"[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
"#,
        "",
        r#"my-set.toml line 18: the mark "bill" separates nothing; expected two groups of shows or more, of different members"#,
    ),
    (
        r#"[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
"#,
        r#"[[mark.shows]]
members = ["Calidris minuta"]
text = "Long."
"#,
        r#"my-set.toml line 18: the mark "bill" separates nothing; expected two groups of shows or more, of different members"#,
    ),
    (
        r#"[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
"#,
        r#"[[mark.shows]]
members = ["Calidris minuta", "Calidris alpina"]
text = "Long."
"#,
        r#"my-set.toml line 18: the mark "bill" shows Calidris minuta in two groups for the same plumage; expected each member once, or different plumages"#,
    ),
    (
        r#"[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
"#,
        r#"[[mark.shows]]
members = ["Calidris alpinus"]
text = "Long."
"#,
        r#"my-set.toml line 27, column 12: unknown member "Calidris alpinus" in [[mark.shows]]; expected the species of a [[member]]; did you mean "Calidris alpina"?"#,
    ),
    (
        r#"[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
"#,
        r#"[[mark.shows]]
members = []
text = "Long."
"#,
        "my-set.toml line 27: members of [[mark.shows]] are empty; expected a list of scientific names of the set's members",
    ),
    (
        r#"[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
"#,
        r#"[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
plumages = ["adult-breeding"]
"#,
        r#"my-set.toml line 18: the mark "bill" shows something for "adult-breeding", which is not among its plumages; expected one of those, or no plumages for the whole mark"#,
    ),
    (
        r#"plumages = ["juvenile"]
regions"#,
        r#"plumages = ["first-winter"]
regions"#,
        r#"my-set.toml line 18: the mark "bill" is said of "first-winter", which is not among the plumages of Calidris minuta or Calidris alpina; expected a plumage with months there"#,
    ),
    (
        r#"plumages = ["juvenile"]
regions"#,
        r#"plumages = ["juvenil"]
regions"#,
        r#"my-set.toml line 21, column 13: unknown plumage "juvenil" in [[mark]]; expected juvenile, first-winter, first-winter-male, first-winter-female, first-summer, immature, adult, adult-breeding, adult-breeding-male, adult-breeding-female, adult-non-breeding, adult-non-breeding-male, adult-non-breeding-female, eclipse, male, female or all-alike; did you mean "juvenile"?"#,
    ),
    (
        r#"regions = ["western-palearctic"]"#,
        r#"regions = ["nearctic"]"#,
        r#"my-set.toml line 18: the mark "bill" is said of Calidris minuta in nearctic, where Calidris minuta has no plumages; expected a region that all its members are described for"#,
    ),
    (
        r#"regions = ["western-palearctic"]"#,
        r#"regions = ["europe"]"#,
        r#"my-set.toml line 22, column 12: unknown region "europe" in [[mark]]; expected western-palearctic, nearctic, neotropics, afrotropics, south-asia, east-asia or australasia"#,
    ),
    (
        r#"trust = "structure""#,
        r#"trust = "shape""#,
        r#"my-set.toml line 20: unknown trust "shape" in [[mark]]; expected structure, pattern, voice, behaviour or light"#,
    ),
    (
        r#"trust = "structure""#,
        r#"trust = "behavior""#,
        r#"my-set.toml line 20: unknown trust "behavior" in [[mark]]; expected structure, pattern, voice, behaviour or light; did you mean "behaviour"?"#,
    ),
    (
        r#"text = "Short.""#,
        r#"text = " ""#,
        r#"my-set.toml line 25: text in [[mark.shows]] is the text " "; expected what it looks like"#,
    ),
    (
        r#"part = "bill"
"#,
        "",
        r#"my-set.toml line 18: part is missing in [[mark]]; expected a part of the bird such as "bill""#,
    ),
    (
        "months = [8, 9]",
        "months = [8, 13]",
        "my-set.toml line 9, column 71: months in plumages of [[member]] is 13; expected a list of months from 1 to 12",
    ),
    (
        "months = [8, 9]",
        "months = [8, 8]",
        "my-set.toml line 9, column 71: month 8 stands twice in months of plumages of [[member]]",
    ),
    (
        "months = [8, 9]",
        "months = []",
        "my-set.toml line 9, column 58: months of plumages of [[member]] are empty; expected one month or more",
    ),
    (
        "months = [8, 9]",
        r#"months = "8-9""#,
        r#"my-set.toml line 9, column 67: months in plumages of [[member]] is the text "8-9"; expected a list of months from 1 to 12"#,
    ),
    (
        r#"plumage = "adult-breeding""#,
        r#"plumage = "juvenile""#,
        r#"my-set.toml line 5: Calidris minuta has "juvenile" twice in western-palearctic; expected one entry with all its months"#,
    ),
    (
        "months = [1, 2]",
        "months = [9, 1]",
        r#"my-set.toml line 12: Calidris alpina is both "juvenile" and "all-alike" in month 9; expected one or the other"#,
    ),
    (
        r#"species = "Calidris alpina""#,
        r#"species = "Calidris minuta""#,
        r#"my-set.toml line 12: Calidris minuta is a [[member]] twice
my-set.toml line 27, column 12: unknown member "Calidris alpina" in [[mark.shows]]; expected the species of a [[member]]; did you mean "Calidris minuta"?
my-set.toml line 30, column 31: unknown member "Calidris alpina" in [[cannot_tell]]; expected the species of a [[member]]; did you mean "Calidris minuta"?"#,
    ),
    (
        r#"title = "A pair"
"#,
        "",
        "my-set.toml: title is missing in the file; expected the set's title in words",
    ),
    (
        r#"plumages = ["juvenile"]
text = "Asleep.""#,
        r#"plumages = ["female"]
text = "Asleep.""#,
        r#"my-set.toml line 29: cannot_tell is said of "female", a plumage that is not stated for Calidris minuta or Calidris alpina"#,
    ),
    (
        r#"members = ["Calidris minuta", "Calidris alpina"]"#,
        r#"members = ["Calidris minuta"]"#,
        "my-set.toml line 29: cannot_tell is said of fewer than two members; expected two or more",
    ),
    (
        r#"text = "Asleep.""#,
        r#"say = "Asleep.""#,
        r#"my-set.toml line 29: text is missing in [[cannot_tell]]; expected what to record instead
my-set.toml line 32: unknown key "say" in [[cannot_tell]]; its keys are members, plumages, months, always and text"#,
    ),
    (
        r#"trust = "structure""#,
        r#"trust = "structure"
months = [0]"#,
        "my-set.toml line 21, column 11: months in [[mark]] is 0; expected a list of months from 1 to 12",
    ),
    (
        r#"trust = "structure""#,
        r#"trust = "structure"
traps = { weer = "Bleached." }"#,
        r#"my-set.toml line 21, column 11: unknown kind of trap "weer" in [[mark]]; expected wear, moult, age, hybrids, posture, distance or light; did you mean "wear"?"#,
    ),
    (
        r#"trust = "structure""#,
        r#"trust = "structure"
not_between = [["Calidris minuta", "Calidris alpna"]]"#,
        r#"my-set.toml line 21, column 36: unknown member "Calidris alpna" in [[mark]]; expected the species of a [[member]]; did you mean "Calidris alpina"?"#,
    ),
    (
        r#"trust = "structure""#,
        r#"trust = "structure"
not_between = [["Calidris minuta"]]"#,
        "my-set.toml line 21: not_between in [[mark]] has a list of 1; expected pairs, each of two members",
    ),
    (
        r#"trust = "structure""#,
        r#"trust = "structure"
not_between = [["Calidris minuta", "Calidris minuta"]]"#,
        r#"my-set.toml line 18: the mark "bill" is not_between Calidris minuta and Calidris minuta, which it would not separate anyhow; expected two members of different groups"#,
    ),
    (
        r#"plumage = "all-alike""#,
        r#"plumage = "adult-breeding-male", months = [6] },
  { region = "western-palearctic", plumage = "male""#,
        "nothing",
    ),
    (
        r#"{ region = "western-palearctic", plumage = "all-alike", months = [1, 2] },"#,
        r#"{ region = "western-palearctic", plumage = "male", months = [5, 6] },
  { region = "western-palearctic", plumage = "adult-breeding-male", months = [6] },"#,
        r#"my-set.toml line 12: Calidris alpina is both "male" and "adult-breeding-male" in month 6; expected one or the other"#,
    ),
    (
        r#"names = { en = "Little Stint" }"#,
        r#"names = { en = "Little Stint" }
proportions = { bill_length = 9, tail_shape = "wedged" }"#,
        r#"my-set.toml line 8: tail_step is missing in proportions of [[member]]; expected depth of fork or step of the tail over its length, 0 to 0.9
my-set.toml line 8: bill_depth is missing in proportions of [[member]]; expected depth of the bill at its base over its length, 0.02 to 1.5
my-set.toml line 8, column 31: bill_length in proportions of [[member]] is 9; expected length of the bill over that of the head, 0.1 to 6
my-set.toml line 8, column 47: unknown tail_shape "wedged" in proportions of [[member]]; expected square, forked, rounded or wedge; did you mean "wedge"?"#,
    ),
    (
        r#"text = "Asleep.""#,
        r#"text = "Asleep."
always = "yes""#,
        r#"my-set.toml line 33: always in [[cannot_tell]] is the text "yes"; expected true where no view, however good, tells them apart"#,
    ),
];

#[test]
fn every_wrong_set_is_told_in_one_sentence() {
    let mut wrong = Vec::new();
    for (right, written, expected) in WRONG {
        assert!(BASE.contains(right), "{right:?} does not stand in the base");
        let said = said_of(&BASE.replacen(right, written, 1));
        if said != *expected {
            wrong.push(format!(
                "{written}\n  said:     {said}\n  expected: {expected}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
