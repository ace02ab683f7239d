//! Input that stops a command: one clear sentence, and a store whose files are as they were.

use harness::program::{Workspace, wingtide};
use std::path::Path;

const SETTINGS: &str = r#"[workspace]
name = "My patch"

[[site]]
id = "old-pans"
name = "Old Pans"
latitude = 54.9
longitude = -1.2
time_zone = "Europe/London"
region = "western-palearctic"

[[species]]
scientific = "Calidris minuta"
names = { en = "Little Stint" }

[[source]]
id = "notebook"
kind = "counts"
file = "counts.csv"
date_order = "day-month-year"
fully_reported = true
columns = { date = "Date", site = "Place", species = "Bird", count = "How many" }
"#;

const COUNTS: &str = "Date,Place,Bird,How many\n\
    14/09/2024,Old Pans,Little Stint,3\n\
    15/09/2024,Old Pans,Calidris alpina,40\n";

/// What is spoilt: a file, and the text in it that becomes another.
enum Spoilt {
    Settings(&'static str, &'static str),
    Counts(&'static str, &'static str),
    CountsWhole(&'static [u8]),
    CountsGone,
    Nothing,
}
use Spoilt::*;

struct Case {
    name: &'static str,
    spoilt: Spoilt,
    command: &'static [&'static str],
    sentence: &'static str,
}

const LOAD: &[&str] = &["load"];

#[rustfmt::skip]
const CASES: &[Case] = &[
    Case { name: "a file that is not there", spoilt: CountsGone, command: LOAD,
        sentence: "counts.csv of source \"notebook\" cannot be read: there is no such file in " },
    Case { name: "half an archive", spoilt: CountsWhole(b"PK\x03\x04\x14\x00\x06\x00"), command: LOAD,
        sentence: "counts.csv cannot be read as an archive: " },
    Case { name: "a PDF", spoilt: CountsWhole(b"%PDF-1.7\n"), command: LOAD,
        sentence: "counts.csv is not delimited text but a PDF; save it as CSV" },
    Case { name: "an empty file", spoilt: CountsWhole(b""), command: LOAD,
        sentence: "counts.csv holds no header line; the store keeps what it has" },
    Case { name: "a missing column", spoilt: Counts("Bird,", "Birds seen,"), command: LOAD,
        sentence: "counts.csv, line 1: no column \"Bird\" (columns.species of source \"notebook\")" },
    Case { name: "a date order that cannot be", spoilt: Settings("day-month-year", "month-day-year"), command: LOAD,
        sentence: "date_order = \"month-day-year\" cannot be, as \"14/09/2024\" is a date only in the order day-month-year" },
    Case { name: "a quote that never closes", spoilt: Counts("14/09/2024,Old", "14/09/2024,\"Old"), command: LOAD,
        sentence: "counts.csv, line 2: a quote (\") opens a cell here and is never closed" },
    Case { name: "no row that can be read", spoilt: Counts("/2024", "/24"), command: LOAD,
        sentence: "counts.csv: not one of its rows (2) could be read" },
    Case { name: "a wrong key", spoilt: Settings("latitude", "lattitude"), command: LOAD,
        sentence: "wingtide.toml line 7: unknown key \"lattitude\"" },
    Case { name: "a value of the wrong kind", spoilt: Settings("54.9", "\"north\""), command: LOAD,
        sentence: "wingtide.toml line 7" },
    Case { name: "a latitude that is none", spoilt: Settings("54.9", "154.9"), command: LOAD,
        sentence: "wingtide.toml line 7" },
    Case { name: "a region that is none", spoilt: Settings("western-palearctic", "west-palearctic"), command: LOAD,
        sentence: "did you mean \"western-palearctic\"" },
    Case { name: "no settings that read", spoilt: Settings("[workspace]", "[workspace"), command: LOAD,
        sentence: "wingtide.toml line 1" },
    Case { name: "a report without a folder", spoilt: Counts(",40", ",41"), command: &["load", "--report", "/no/such/folder/load.html"],
        sentence: "cannot write the report /no/such/folder/load.html: there is no folder /no/such/folder" },
    Case { name: "a half-year that is both", command: LOAD,
        spoilt: Settings("longitude = -1.2", "longitude = -1.2\ngaps = [\"2024-H2\"]\nvisited = [\"2024-H2\"]"),
        sentence: "\"2024-H2\" stands in both gaps and visited of [[site]]" },
    Case { name: "a batch that is none", spoilt: Nothing, command: &["undo", "7"],
        sentence: "there is no batch 7; `wingtide batches` lists them" },
    Case { name: "a site that is none", spoilt: Nothing, command: &["week", "--site", "old-pan"],
        sentence: "there is no site \"old-pan\"; the workspace has old-pans" },
    Case { name: "a species that was never counted", spoilt: Nothing, command: &["curve", "--species", "Little Tsint"],
        sentence: "no count of \"Little Tsint\" at old-pans" },
    Case { name: "a passage that no species has", spoilt: Nothing, command: &["season", "--season", "2010-summer"],
        sentence: "no species has a summer passage at old-pans; there is none with a curve" },
    Case { name: "a set that is none, where nobody looks", spoilt: Nothing, command: &["week", "--date", "2024-02-14", "--set", "sandpipers"],
        sentence: "there is no set \"sandpipers\"" },
    Case { name: "a set that is none", spoilt: Nothing, command: &["week", "--date", "2024-09-14", "--set", "sandpipers"],
        sentence: "there is no set \"sandpipers\"" },
];

fn fitted() -> Workspace {
    let workspace = Workspace::empty()
        .with("wingtide.toml", SETTINGS)
        .with("counts.csv", COUNTS);
    workspace.run(LOAD).works();
    workspace.run(&["fit"]).works();
    workspace
}

fn spoil(workspace: &Workspace, spoilt: &Spoilt) {
    let swap = |text: &str, from: &str, to: &str| {
        assert!(text.contains(from), "there is no {from}");
        text.replacen(from, to, usize::MAX)
    };
    match spoilt {
        Settings(from, to) => workspace.write("wingtide.toml", swap(SETTINGS, from, to)),
        Counts(from, to) => workspace.write("counts.csv", swap(COUNTS, from, to)),
        CountsWhole(bytes) => workspace.write("counts.csv", bytes),
        CountsGone => std::fs::remove_file(workspace.path("counts.csv")).expect("it was there"),
        Nothing => {}
    }
}

#[test]
fn what_stops_a_command_is_said_in_one_sentence_and_leaves_the_store_alone() {
    let mut failures = Vec::new();
    for case in CASES {
        let workspace = fitted();
        spoil(&workspace, &case.spoilt);
        let before = workspace.store();
        assert!(before.len() >= 2, "a ledger and a batch");
        let said = workspace.run(case.command).fails();
        let mut lines = said.lines();
        let first = lines.next().unwrap_or_default();
        // beside the sentence there may be one indented hint
        let hints: Vec<&str> = lines.collect();
        if !first.starts_with("error: ")
            || hints.len() > 1
            || hints.iter().any(|h| !h.starts_with("  "))
        {
            failures.push(format!("{}: not one sentence: {said}", case.name));
        }
        if !said.contains(case.sentence) {
            failures.push(format!("{}: {said}", case.name));
        }
        if before != workspace.store() {
            failures.push(format!("{}: the store changed", case.name));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn every_problem_of_the_settings_is_told_at_once_with_its_line() {
    let workspace = fitted();
    let text = SETTINGS
        .replace("54.9", "154.9")
        .replace("day-month-year", "day-moon-year");
    workspace.write("wingtide.toml", text);
    let said = workspace.run(LOAD).fails();
    assert!(
        said.contains("line 7") && said.contains("line 20"),
        "{said}"
    );
}

#[test]
fn a_workspace_that_is_there_is_not_overwritten() {
    let workspace = fitted();
    let dir = workspace.path("");
    let said = workspace
        .run(&["new", dir.to_str().expect("a plain path")])
        .fails();
    assert!(said.contains("exists already"), "{said}");
    let kept = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    assert_eq!(kept, SETTINGS);
}

#[test]
fn a_command_line_that_makes_no_sense_is_told_apart() {
    let ran = Workspace::empty().run(&["weeks"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("week"), "{}", ran.err);
}

#[test]
fn a_date_written_otherwise_is_told_in_iso() {
    let workspace = fitted();
    for command in ["week", "digest"] {
        let ran = workspace.run(&[command, "--date", "2.9.2026"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""));
        let wanted =
            "'2.9.2026' for '--date <DATE>': expected a date as YYYY-MM-DD: write 2026-09-02";
        assert!(ran.err.contains(wanted), "{}", ran.err);
    }
}

#[test]
fn a_season_that_is_none_names_the_nearest() {
    let workspace = fitted();
    let ran = workspace.run(&["season", "--season", "2010-autum"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    let wanted = "'2010-autum' for '--season <YEAR-NAME>': there is no season \"autum\"; \
                  did you mean 2010-autumn?";
    assert!(ran.err.contains(wanted), "{}", ran.err);
}

#[test]
fn a_file_that_is_not_there_names_the_nearest() {
    let workspace = fitted();
    let from = workspace.path("counts.csv");
    std::fs::rename(from, workspace.path("Counts2.csv")).expect("it was there");
    let said = workspace.run(LOAD).fails();
    assert!(said.contains("; the nearest is \"Counts2.csv\""), "{said}");
}

#[test]
fn a_folder_that_is_no_workspace() {
    let empty = Workspace::empty();
    let no_workspace = format!(
        "wingtide.toml: there is no such file in {}",
        empty.path("").display()
    );
    for command in [["load"], ["fit"], ["week"], ["windows"]] {
        let said = empty.run(&command).fails();
        assert!(said.contains(no_workspace.trim_end_matches('/')), "{said}");
        assert!(said.contains("wingtide new"), "{said}");
        let said = wingtide(Path::new("/no/such/folder"), &command).fails();
        assert!(said.contains("/no/such/folder"), "{said}");
    }
    let left = std::fs::read_dir(empty.path(""))
        .expect("the folder opens")
        .count();
    assert_eq!(left, 0, "something was written");
}
