//! What ships with the crate holds: the template loads, and the look-alike sets teach.

use config::look_alikes::{LookAlikeSet, Plumage, Region, Trust, shipped};
use std::path::Path;

fn here() -> Region {
    Region("western-palearctic".to_owned())
}

fn sets() -> Vec<LookAlikeSet> {
    shipped().unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn the_template_loads_from_disk() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(
        dir.path().join(config::FILE_NAME),
        config::new_workspace_toml(),
    )
    .unwrap();
    let workspace = config::load(dir.path()).unwrap_or_else(|e| panic!("{e}"));
    assert!(workspace.root.is_absolute());
    assert_eq!(workspace.sources[0].path, workspace.root.join("counts.csv"));
    assert_eq!(workspace.digest.title, "This week at My counts");
    let sets: Vec<&str> = workspace
        .look_alikes
        .iter()
        .map(|s| s.id.as_str())
        .collect();
    assert_eq!(sets, ["small-sandpipers"]);
}

/// Every setting that the template shows as a note is a real one.
#[test]
fn the_template_loads_with_its_notes_taken_in() {
    let setting = |line: &str| {
        let bare = line
            .strip_prefix("# ")
            .filter(|l| l.starts_with('[') || l.contains(" = "));
        match bare {
            Some(bare) if !bare.starts_with("Daily") => bare.to_owned(),
            _ => line.to_owned(),
        }
    };
    let text: Vec<String> = config::new_workspace_toml().lines().map(setting).collect();
    let own = "id = \"own\"\ntitle = \"Own\"\nsource = \"us\"\nreview = \"us\"\n\
               [[member]]\nspecies = \"Aa aa\"\nplumages = [{ region = \"nearctic\", plumage = \"male\", months = [5] }]\n[[member]]\nspecies = \"Bb bb\"\nplumages = [{ region = \"nearctic\", plumage = \"male\", months = [5] }]\n";
    let one_site_column = text.join("\n").replace("site = \"my-site\"  ", "# ");
    let workspace = config::parse(&one_site_column, Path::new("/w"), |path| {
        assert_eq!(path, Path::new("/w/my-set.toml"));
        Ok(own.to_owned())
    })
    .unwrap_or_else(|e| panic!("{e}\n{one_site_column}"));
    assert_eq!(workspace.sources.len(), 3);
    assert_eq!(workspace.look_alikes.len(), 7);
}

#[test]
fn the_shipped_sets_hold_and_have_the_members_promised() {
    let members: Vec<(String, usize, usize)> = sets()
        .iter()
        .map(|s| (s.id.clone(), s.members.len(), s.marks.len()))
        .collect();
    let ids: Vec<(&str, usize)> = members.iter().map(|(id, n, _)| (id.as_str(), *n)).collect();
    let promised = [
        ("small-sandpipers", 5),
        ("pale-terns", 3),
        ("leaf-warblers", 4),
        ("long-shanks", 3),
        ("streaked-pipits", 3),
    ];
    assert_eq!(ids, promised);
    for (id, _, marks) in members {
        assert!(marks >= 8, "{id} has {marks} marks");
    }
}

/// Every pair that can meet in a month is separated by two marks or more, one of them of
/// structure or voice, in whichever plumages they meet.
#[test]
fn every_pair_is_separated_in_every_month_and_plumage() {
    let mut meetings = 0;
    for set in sets() {
        for month in 1..=12 {
            for (i, a) in set.members.iter().enumerate() {
                for b in &set.members[i + 1..] {
                    for pa in a.plumages_in(&here(), month) {
                        for pb in b.plumages_in(&here(), month) {
                            meetings += 1;
                            assert_separated(&set, (&a.species, pa), (&b.species, pb), month);
                        }
                    }
                }
            }
        }
    }
    assert!(meetings > 400, "only {meetings} meetings looked at");
}

fn assert_separated(set: &LookAlikeSet, a: (&str, Plumage), b: (&str, Plumage), month: u8) {
    let marks = set.separating(&here(), a, b);
    let firm = marks
        .iter()
        .any(|m| matches!(m.trust, Trust::Structure | Trust::Voice));
    assert!(
        marks.len() >= 2 && firm,
        "{} month {month}: {a:?} and {b:?} are separated by {} marks, firm: {firm}",
        set.id,
        marks.len()
    );
}

#[test]
fn shipped_sets_name_members_in_english_and_german_and_say_what_to_describe() {
    for set in sets() {
        assert!(
            set.marks.iter().any(|m| m.trust == Trust::Light),
            "{} warns of nothing",
            set.id
        );
        assert!(
            !set.cannot_tell.is_empty(),
            "{} claims to tell everything",
            set.id
        );
        for member in &set.members {
            for language in ["en", "de"] {
                assert!(
                    member.names.contains_key(language),
                    "{} in {language}",
                    member.species
                );
            }
            assert!(member.describe.is_some(), "{}", member.species);
        }
        for mark in &set.marks {
            assert!(mark.trap.is_some(), "{} {} has no trap", set.id, mark.part);
        }
    }
}
