//! The dark icterids by date and plumage. The facts are common practice, no source; each test
//! states one and looks for what the file says of it in every month and plumage, so that it is
//! said where it holds and nowhere else.

use config::look_alikes::{LookAlikeSet, Mark, Plumage, Region, Seen, Trust, shipped};
use std::collections::BTreeSet;

const RUSTY: &str = "Euphagus carolinus";
const BREWERS: &str = "Euphagus cyanocephalus";
const GRACKLE: &str = "Quiscalus quiscula";
const COWBIRD: &str = "Molothrus ater";
const RED_WING: &str = "Agelaius phoeniceus";
const STARLING: &str = "Sturnus vulgaris";

const AUTUMN: [u8; 3] = [9, 10, 11];
const SPRING: [u8; 4] = [4, 5, 6, 7];

fn set() -> LookAlikeSet {
    let sets = shipped().unwrap_or_else(|e| panic!("{e}"));
    let found = sets.into_iter().find(|s| s.id == "dark-icterids");
    found.expect("the set ships")
}

fn here() -> Region {
    Region("nearctic".to_owned())
}

/// Everything that marks of a part say of a bird in the month, in small letters.
fn said(set: &LookAlikeSet, part: &str, month: u8, bird: Seen<'_>) -> Option<String> {
    let marks = set.marks.iter().filter(|m| m.holds(&here(), month));
    let texts: Vec<String> = marks
        .filter(|m| m.part.contains(part))
        .filter_map(|m| Some(m.on(bird)?.text.to_lowercase()))
        .collect();
    (!texts.is_empty()).then(|| texts.join(" "))
}

/// Plumages of a species in the month that a test is about; at least one.
fn worn(set: &LookAlikeSet, species: &str, month: u8, among: &[Plumage]) -> Vec<Plumage> {
    let all = set.member(species).unwrap().plumages_in(&here(), month);
    let worn: Vec<Plumage> = all
        .into_iter()
        .filter(|p| Plumage::any_covers(among, *p))
        .collect();
    assert!(!worn.is_empty(), "{species} in month {month}");
    worn
}

/// That every such bird is said to show all the words.
fn shows(
    set: &LookAlikeSet,
    part: &str,
    months: &[u8],
    (species, among): (&str, &[Plumage]),
    words: &[&str],
) {
    for month in months {
        for plumage in worn(set, species, *month, among) {
            let text = said(set, part, *month, (species, plumage))
                .unwrap_or_else(|| panic!("{part} of {species} ({plumage}) in month {month}"));
            for word in words {
                assert!(
                    text.contains(word),
                    "{species} ({plumage}), {month}: {text:?} lacks {word:?}"
                );
            }
        }
    }
}

/// That nothing is said of the part on such birds.
fn silent(set: &LookAlikeSet, part: &str, months: &[u8], (species, among): (&str, &[Plumage])) {
    for month in months {
        for plumage in worn(set, species, *month, among) {
            let text = said(set, part, *month, (species, plumage));
            assert_eq!(
                text, None,
                "{part} of {species} ({plumage}) in month {month}"
            );
        }
    }
}

/// The parts of the marks between the two Euphagus, for each meeting of the year.
fn euphagus(set: &LookAlikeSet) -> Vec<(u8, Plumage, Plumage, Vec<&Mark>)> {
    let of = |month, species| set.member(species).unwrap().plumages_in(&here(), month);
    let mut meetings = Vec::new();
    for month in 1..=12 {
        for a in of(month, RUSTY) {
            for b in of(month, BREWERS) {
                let marks = set.separating(&here(), month, (RUSTY, a), (BREWERS, b));
                meetings.push((month, a, b, marks));
            }
        }
    }
    assert!(meetings.len() > 100);
    meetings
}

const FRESH: [Plumage; 2] = [Plumage::FirstWinter, Plumage::AdultNonBreeding];
const ALL: [u8; 12] = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12];

#[test]
fn gloss_separates_nothing() {
    let set = set();
    for (month, a, b, marks) in euphagus(&set) {
        for mark in marks {
            assert!(!mark.part.contains("gloss"), "{month} {a} {b}");
            let texts: String = mark.shows.iter().map(|s| s.text.to_lowercase()).collect();
            for word in ["gloss", "sheen", "shine", "violet", "green"] {
                assert!(!texts.contains(word), "{}: {word}", mark.part);
            }
        }
    }
    let gloss = set
        .marks
        .iter()
        .find(|m| m.part == "gloss")
        .expect("a warning");
    assert_eq!(gloss.trust, Trust::Light);
    shows(
        &set,
        "gloss",
        &AUTUMN,
        (RUSTY, &[Plumage::Male]),
        &["no brewer's"],
    );
    shows(
        &set,
        "gloss",
        &AUTUMN,
        (BREWERS, &[Plumage::Male]),
        &["no rusty"],
    );
}

#[test]
fn the_two_euphagus_differ_in_tail_legs_and_bill_at_all_times() {
    let set = set();
    for (month, a, b, marks) in euphagus(&set) {
        let shape = marks.iter().filter(|m| m.trust == Trust::Structure);
        let parts: BTreeSet<&str> = shape.map(|m| m.part.as_str()).collect();
        assert_eq!(
            parts,
            BTreeSet::from(["bill", "legs", "tail"]),
            "{month} {a} {b}"
        );
    }
    for (part, rusty, brewers) in [
        ("tail", &["shorter"][..], &["longer"][..]),
        ("legs", &["shorter"], &["longer"]),
    ] {
        shows(&set, part, &ALL, (RUSTY, &[]), rusty);
        shows(&set, part, &ALL, (BREWERS, &[]), brewers);
    }
    for month in ALL {
        for plumage in worn(&set, RUSTY, month, &[]) {
            let bill = set.marks.iter().find(|m| m.part == "bill").unwrap();
            let text = &bill.on((RUSTY, plumage)).unwrap().text;
            assert!(text.contains("narrow at its base") && text.contains("slightly curved culmen"));
        }
        for plumage in worn(&set, BREWERS, month, &[]) {
            let bill = set.marks.iter().find(|m| m.part == "bill").unwrap();
            assert!(
                bill.on((BREWERS, plumage))
                    .unwrap()
                    .text
                    .contains("Straight culmen")
            );
        }
    }
    let drawn = |species: &str| set.member(species).unwrap().proportions.unwrap();
    let (rusty, brewers) = (drawn(RUSTY), drawn(BREWERS));
    assert!(rusty.tail_length < brewers.tail_length && rusty.leg_length < brewers.leg_length);
    assert!(rusty.bill_depth < brewers.bill_depth && rusty.bill_curve > Some(0.0));
    assert_eq!(brewers.bill_curve, Some(0.0));
}

#[test]
fn eyes_part_females_and_never_males() {
    let set = set();
    shows(
        &set,
        "eye of females",
        &ALL,
        (RUSTY, &[Plumage::Female]),
        &["pale", "almost always"],
    );
    shows(
        &set,
        "eye of females",
        &ALL,
        (BREWERS, &[Plumage::Female]),
        &["dark"],
    );
    for species in [RUSTY, BREWERS] {
        shows(
            &set,
            "eye of males",
            &ALL,
            (species, &[Plumage::Male]),
            &["pale"],
        );
        silent(&set, "eye", &[6, 7, 8], (species, &[Plumage::Juvenile]));
    }
    let (mut females, mut others) = (0, 0);
    for (month, a, b, marks) in euphagus(&set) {
        let both_female = Plumage::Female.covers(a) && Plumage::Female.covers(b);
        let by_eye = marks.iter().any(|m| m.part.contains("eye"));
        assert_eq!(by_eye, both_female, "{month} {a} {b}");
        *(if both_female {
            &mut females
        } else {
            &mut others
        }) += 1;
    }
    assert!(females > 10 && others > 10);
}

/// Rusty edges of the body occur in both, rufous tertial edges and a strong pale supercilium in
/// one; none of it is said of spring and summer birds or of juveniles.
#[test]
fn rusty_edges_are_in_both_and_two_marks_in_one_and_only_when_fresh() {
    let set = set();
    for species in [RUSTY, BREWERS] {
        shows(
            &set,
            "rusty edges of the body",
            &AUTUMN,
            (species, &FRESH),
            &["rusty"],
        );
    }
    shows(
        &set,
        "tertial edges",
        &AUTUMN,
        (RUSTY, &FRESH),
        &["rufous edges"],
    );
    shows(
        &set,
        "tertial edges",
        &AUTUMN,
        (BREWERS, &FRESH),
        &["no rufous edges"],
    );
    shows(
        &set,
        "supercilium",
        &AUTUMN,
        (RUSTY, &FRESH),
        &["strong and pale"],
    );
    shows(
        &set,
        "supercilium",
        &AUTUMN,
        (BREWERS, &FRESH),
        &["no strong pale"],
    );
    for (month, a, b, marks) in euphagus(&set) {
        let part = |part: &str| marks.iter().any(|m| m.part == part);
        let fresh = Plumage::any_covers(&FRESH, a) && Plumage::any_covers(&FRESH, b);
        assert!(!part("rusty edges of the body"));
        if AUTUMN.contains(&month) {
            assert_eq!(
                (part("tertial edges"), part("supercilium")),
                (fresh, fresh),
                "{month} {a} {b}"
            );
        } else if !fresh {
            assert!(
                !part("tertial edges") && !part("supercilium"),
                "{month} {a} {b}"
            );
        }
    }
    for part in ["rusty edges", "tertial edges", "supercilium"] {
        for species in [RUSTY, BREWERS] {
            silent(&set, part, &SPRING, (species, &[]));
        }
    }
}

#[test]
fn the_grackle_has_a_long_tail_a_massive_bill_and_grown_a_pale_eye() {
    let set = set();
    shows(&set, "tail", &ALL, (GRACKLE, &[]), &["long"]);
    shows(
        &set,
        "bill",
        &ALL,
        (GRACKLE, &[]),
        &["massive", "wide at the base", "curved"],
    );
    let grown = [Plumage::Male, Plumage::Female];
    shows(&set, "eye of", &ALL, (GRACKLE, &grown), &["pale"]);
    silent(
        &set,
        "eye",
        &[5, 6, 7, 8, 9],
        (GRACKLE, &[Plumage::Juvenile]),
    );
}

#[test]
fn the_cowbird_has_a_short_stout_bill_and_a_dark_eye() {
    let set = set();
    shows(
        &set,
        "bill",
        &ALL,
        (COWBIRD, &[]),
        &["short", "stout", "wide at the base"],
    );
    let grown = [Plumage::Male, Plumage::Female];
    shows(&set, "eye of", &ALL, (COWBIRD, &grown), &["dark"]);
}

#[test]
fn the_red_wing_is_edged_scalloped_and_the_female_streaked() {
    let set = set();
    let grown = [Plumage::Male, Plumage::Female];
    let male = [Plumage::Male];
    shows(
        &set,
        "median coverts",
        &AUTUMN,
        (RED_WING, &grown),
        &["at least a fine buff edge"],
    );
    shows(
        &set,
        "lower body",
        &AUTUMN,
        (RED_WING, &male),
        &["scalloped grey or buff"],
    );
    shows(
        &set,
        "underparts",
        &ALL,
        (RED_WING, &[Plumage::Female]),
        &["streaked"],
    );
    silent(&set, "underparts", &ALL, (RED_WING, &male));
    silent(&set, "lower body", &ALL, (RED_WING, &[Plumage::Female]));
    for part in ["median coverts", "lower body"] {
        silent(&set, part, &SPRING, (RED_WING, &male));
        silent(&set, part, &[5, 6, 7, 8], (RED_WING, &[Plumage::Juvenile]));
    }
}

#[test]
fn the_starling_is_spotted_and_dark_in_bill_and_eye_in_autumn_alone() {
    let set = set();
    shows(&set, "spots", &AUTUMN, (STARLING, &FRESH), &["spotted"]);
    shows(
        &set,
        "bill and eye",
        &AUTUMN,
        (STARLING, &FRESH),
        &["dark bill", "dark eye"],
    );
    for part in ["spots", "bill and eye"] {
        silent(&set, part, &[3, 4, 5, 6, 7, 8], (STARLING, &[]));
        silent(&set, part, &[9], (STARLING, &[Plumage::Juvenile]));
    }
    // by then the bill turns yellow
    silent(&set, "bill and eye", &[1, 2], (STARLING, &[]));
}
