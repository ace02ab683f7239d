//! The files as a reader meets them.

use super::*;
use std::collections::{BTreeMap, BTreeSet};

#[test]
fn visits_are_dated_in_order_and_once_a_site() {
    let files = demo();
    let span = Span::of_years(FIRST_YEAR, LAST_YEAR).unwrap();
    let mut last = (span.first, "");
    let mut seen = BTreeSet::new();
    for row in rows(&files.visits, ',') {
        let [day, place, minutes, _] = row[..] else {
            panic!("{row:?}")
        };
        let day = date(day);
        assert!(
            span.first <= day && day <= span.last && last.0 <= day,
            "{day}"
        );
        assert!(["LB", "TL", "DW"].contains(&place), "{place}");
        assert!(
            (15..=400).contains(&minutes.parse::<u32>().unwrap()),
            "{minutes}"
        );
        assert!(seen.insert((day, place)), "two visits to {place} on {day}");
        last = (day, place);
    }
}

#[test]
fn every_count_belongs_to_a_visit_and_stands_once() {
    let files = demo();
    let visits: BTreeSet<(&str, &str, &str)> = rows(&files.visits, ',')
        .iter()
        .map(|r| (r[0], r[1], r[3]))
        .collect();
    let mut seen = BTreeSet::new();
    for row in rows(&files.counts, ';') {
        let [day, place, name, _, observer] = row[..] else {
            panic!("{row:?}")
        };
        assert!(visits.contains(&(day, place, observer)), "{row:?}");
        assert!(seen.insert((day, place, tidy(name))), "twice: {row:?}");
    }
    assert!(files.counts.len() < 10_000_000);
}

#[test]
fn temperature_has_every_day_from_the_year_before() {
    let files = demo();
    let mut next = NaiveDate::from_ymd_opt(FIRST_YEAR - 1, 1, 1).unwrap();
    for row in rows(&files.temperature, ',') {
        assert_eq!(date(row[0]), next);
        let mean_c: f64 = row[1].parse().unwrap();
        assert!(
            (-25.0..40.0).contains(&mean_c) && row[1] != "-0.0",
            "{row:?}"
        );
        next = next.succ_opt().unwrap();
    }
    let (month, day) = LAST_MONTH_DAY;
    assert_eq!(
        next.pred_opt(),
        NaiveDate::from_ymd_opt(LAST_YEAR, month, day)
    );
}

fn tidy(name: &str) -> String {
    name.split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase()
}

/// Text between double quotes, in order.
fn quoted(line: &str) -> Vec<&str> {
    line.split('"').skip(1).step_by(2).collect()
}

/// Every name in the workspace's species, tidied, with the scientific name it stands for.
fn names_known(workspace: &str) -> BTreeMap<String, String> {
    let mut known = BTreeMap::new();
    let mut scientific = "";
    for line in workspace.lines() {
        if line.starts_with("scientific = ") {
            scientific = quoted(line)[0];
        }
        if ["scientific = ", "names = ", "also = "]
            .iter()
            .any(|key| line.starts_with(key))
        {
            known.extend(
                quoted(line)
                    .into_iter()
                    .map(|n| (tidy(n), scientific.to_string())),
            );
        }
    }
    known
}

#[test]
fn one_name_is_misspelt_and_every_other_one_is_known_to_the_workspace() {
    let files = demo();
    let known = names_known(&files.workspace);
    let rows = rows(&files.counts, ';');
    let strange: Vec<&str> = rows
        .iter()
        .map(|r| r[2])
        .filter(|n| !known.contains_key(&tidy(n)))
        .collect();
    assert_eq!(strange, ["Phylloscopus trochillus"]);
    // The untidiness that the README promises is there.
    for (observer, kind) in [
        ("MF", "Chiffchaff"),
        ("MF", "Dunlin"),
        ("JT", "anthus pratensis"),
    ] {
        assert!(
            rows.iter().any(|r| r[4] == observer && r[2] == kind),
            "{kind}"
        );
    }
    let stray = rows
        .iter()
        .filter(|r| r[2].trim() != r[2] || r[2].contains("  "))
        .count();
    assert!((50..2000).contains(&stray), "{stray}");
}

#[test]
fn numbers_as_written_stand_for_the_birds_that_were_drawn() {
    let one = drawn(SEED);
    let files = demo();
    let rows = rows(&files.counts, ';');
    assert_eq!(rows.len(), one.records.len());
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for (row, record) in rows.iter().zip(&one.records) {
        assert_eq!(date(row[0]), record.visit.date);
        let (written, birds) = (row[3], record.birds);
        let kind = if written == "x" {
            assert!((1..=3).contains(&birds));
            "present"
        } else if let Some(about) = written.strip_prefix("c. ") {
            assert!(
                about.parse::<u32>().unwrap().abs_diff(birds) <= 5,
                "{written} {birds}"
            );
            "about"
        } else if let Some(least) = written.strip_suffix('+') {
            let least: u32 = least.parse().unwrap();
            assert!(least <= birds && birds < least + 10, "{written} {birds}");
            "at least"
        } else {
            assert_eq!(written, birds.to_string());
            "exactly"
        };
        *kinds.entry(kind).or_default() += 1;
    }
    // A few of each, and a number nearly always.
    for kind in ["present", "about", "at least"] {
        assert!((50..1000).contains(&kinds[kind]), "{kinds:?}");
    }
    assert!(kinds["exactly"] > 25_000, "{kinds:?}");
}

#[test]
fn the_workspace_names_columns_that_the_files_have() {
    let files = demo();
    let mut header: Vec<&str> = Vec::new();
    let mut sources = 0;
    for line in files.workspace.lines() {
        if line.starts_with("file = ") {
            let name = quoted(line)[0];
            let (_, text) = files.named().into_iter().find(|(n, _)| *n == name).unwrap();
            header = text.lines().next().unwrap().split([',', ';']).collect();
        }
        if line.starts_with("columns = ") {
            sources += 1;
            for column in quoted(line) {
                assert!(header.contains(&column), "{column} is not among {header:?}");
            }
        }
    }
    assert_eq!(sources, 3);
}

#[test]
fn the_workspace_agrees_with_the_truth() {
    let (files, truth) = (demo(), truth());
    let values = |key: &str| -> Vec<&str> {
        let with_key = files.workspace.lines().filter(|l| l.starts_with(key));
        with_key.map(|l| quoted(l)[0]).collect()
    };
    let scientific: Vec<&str> = truth.species.iter().map(|s| s.scientific).collect();
    assert_eq!(values("scientific = "), scientific);
    assert_eq!(scientific.len(), 20);
    let known = names_known(&files.workspace);
    for s in &truth.species {
        assert_eq!(known[&tidy(s.english)], s.scientific);
    }
    for site in &truth.sites {
        assert!(values("id = ").contains(&site.id));
        let mapped = format!("\"{}\" = \"{}\"", site.code, site.id);
        assert_eq!(
            files.workspace.matches(&mapped).count(),
            2,
            "counts and visits: {mapped}"
        );
    }
    let standard = format!("standard_effort = {}", truth.standard_effort_min);
    assert_eq!(files.workspace.matches(&standard).count(), SITES);
    assert_eq!(files.workspace.matches("cautions = ").count(), SITES);
    assert_eq!(files.workspace.matches(", de = \"").count(), 20);
}

#[test]
fn truth_csv_lists_every_passage_with_birds() {
    let files = demo();
    let truth = truth();
    let passages = truth.species.iter().flat_map(|s| &s.passages);
    let with_birds: usize = passages
        .map(|p| p.birds.iter().filter(|b| **b > 0.0).count())
        .sum();
    let rows = rows(&files.truth, ',');
    assert_eq!(rows.len(), with_birds);
    assert!(rows.iter().all(|r| r.len() == 9));
    // Dates by hand: mean day 251 of a common year is 8 September, 1.645 x 12 = 19.7 days.
    let stint = rows
        .iter()
        .find(|r| r[0] == "Calidris minuta" && r[2] == "autumn")
        .unwrap();
    assert_eq!(stint[3..6], ["08-19", "09-08", "09-28"]);
}

#[test]
fn the_readme_tells_seed_and_dates_and_that_all_is_invented() {
    let readme = demo().readme;
    assert_eq!(readme.lines().next(), Some(write::FIRST_LINE));
    assert!(readme.contains(&format!("seed {SEED}")));
    assert!(readme.contains("2000-01-01 to 2026-09-20"));
    assert!(!readme.contains(['{', '}']));
}
