//! The library of look-alike sets as a whole: what every shipped file promises.

use config::look_alikes::{LookAlikeSet, Plumage, TrapKind, Trust, shipped};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

fn sets() -> Vec<LookAlikeSet> {
    shipped().unwrap_or_else(|e| panic!("{e}"))
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("data/look-alikes")
}

fn none(wrong: Vec<String>) {
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The rule of pairs over all files, regions, months and plumages.
#[test]
fn every_pair_that_meets_is_separated_or_said_to_be_inseparable() {
    let broken = |set: &LookAlikeSet| {
        let broken = set.unseparated();
        let told = broken.iter().map(|b| format!("{}.toml: {b}", set.id));
        told.collect::<Vec<_>>()
    };
    none(sets().iter().flat_map(broken).collect());
}

/// The rule looked at something, and no file escapes it: every set's members meet, and most
/// meetings are settled by marks rather than by giving up.
#[test]
fn the_rule_of_pairs_has_work_in_every_set() {
    for set in sets() {
        let (mut meetings, mut given_up) = (0, 0);
        for region in set.regions() {
            for month in 1..=12 {
                for (a, b) in set.meetings(region, month) {
                    meetings += 1;
                    let always = |c: &&config::look_alikes::CannotTell| {
                        c.always && c.in_month(month) && c.covers(a, b)
                    };
                    given_up += usize::from(set.cannot_tell.iter().any(|c| always(&c)));
                }
            }
        }
        let id = &set.id;
        assert!(meetings >= 12, "{id}: only {meetings} meetings");
        assert!(2 * given_up < meetings, "{id}: {given_up} of {meetings}");
    }
}

#[test]
fn every_file_is_named_by_its_id_and_says_where_it_comes_from() {
    let sets = sets();
    let mut files = 0;
    for entry in std::fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "toml") {
            files += 1;
            let id = path.file_stem().unwrap().to_string_lossy();
            assert!(sets.iter().any(|s| s.id == id), "{id}.toml has another id");
        }
    }
    assert_eq!(files, sets.len());
    for set in sets {
        assert_eq!(set.source, "common practice, no source", "{}", set.id);
        assert_eq!(set.review, "author only", "{}", set.id);
    }
}

#[test]
fn every_set_has_three_to_seven_members_and_nothing_to_advise() {
    let mut wrong = Vec::new();
    for set in sets() {
        let members = set.members.len();
        if !(3..=7).contains(&members) {
            wrong.push(format!("{}.toml: {members} members", set.id));
        }
        if set.marks.len() < 6 {
            wrong.push(format!("{}.toml: {} marks", set.id, set.marks.len()));
        }
        let advice = set.advice();
        wrong.extend(advice.iter().map(|a| format!("{}.toml: {a}", set.id)));
    }
    none(wrong);
}

/// Else a workspace with both species is told the same twice.
#[test]
fn two_species_stand_together_in_one_set_only() {
    let mut pairs: BTreeMap<(String, String), String> = BTreeMap::new();
    let mut wrong = Vec::new();
    for set in sets() {
        let names: BTreeSet<&String> = set.members.iter().map(|m| &m.species).collect();
        for a in &names {
            for b in names
                .range::<&String, _>((std::ops::Bound::Excluded(a), std::ops::Bound::Unbounded))
            {
                let pair = ((*a).clone(), (*b).clone());
                if let Some(other) = pairs.insert(pair, set.id.clone()) {
                    wrong.push(format!("{a} and {b} stand in {other} and in {}", set.id));
                }
            }
        }
    }
    none(wrong);
}

/// The authors' guide defines every term as the program does.
#[test]
fn the_guide_for_authors_knows_every_term() {
    let guide = std::fs::read_to_string(folder().join("README.md")).unwrap();
    let joined = guide.split_whitespace().collect::<Vec<_>>().join(" ");
    for (name, plumage) in Plumage::NAMES {
        let row = format!("| `{name}` | {} |", plumage.meaning());
        assert!(joined.contains(&row), "the guide lacks: {row}");
    }
    for (name, trust) in Trust::NAMES {
        let row = format!("| `{name}` | {} |", trust.meaning());
        assert!(joined.contains(&row), "the guide lacks: {row}");
    }
    for (name, _) in TrapKind::NAMES {
        assert!(joined.contains(&format!("| `{name}` |")), "{name}");
    }
    for (name, covers) in config::look_alikes::regions::REGIONS {
        assert!(
            joined.contains(&format!("| `{name}` | {covers} |")),
            "{name}"
        );
    }
}

/// The guide's own example holds, so that an author may copy it.
#[test]
fn the_guides_example_is_a_set_that_holds() {
    let guide = std::fs::read_to_string(folder().join("README.md")).unwrap();
    let example = guide
        .split("```toml\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("an example");
    let set =
        config::look_alikes::parse_set("example.toml", example).unwrap_or_else(|e| panic!("{e}"));
    none(set.unseparated().iter().map(ToString::to_string).collect());
    none(set.advice());
}
