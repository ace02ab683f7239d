//! What the README shows is what the program prints.

use harness::places::repository;
use harness::program::{Ran, typed, wingtide};
use harness::readme::{blocks, section, text};
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

/// The demo, run once for all tests here, and what it printed.
static DEMO: LazyLock<(PathBuf, String)> = LazyLock::new(|| {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("readme");
    if dir.exists() {
        std::fs::remove_dir_all(&dir).expect("the last run's demo goes");
    }
    let printed = typed(&["demo", dir.to_str().expect("a plain path")]).works();
    (dir, printed)
});

/// Runs a command on the demo.
pub fn demo(args: &[&str]) -> Ran {
    wingtide(&DEMO.0, args)
}

#[test]
fn the_sample_is_what_the_demo_prints() {
    let sample = blocks(&section("What you get"), "text").concat();
    let mut printed = DEMO.1.lines();
    let mut lines = 0;
    let mut left_out = true; // a sample may begin anywhere
    for line in sample.lines() {
        if line == "..." {
            left_out = true;
            continue;
        }
        let same = match left_out {
            true => printed.any(|p| p == line),
            false => printed.next() == Some(line),
        };
        assert!(same, "the demo does not print this line here: {line:?}");
        left_out = false;
        lines += 1;
    }
    assert!(lines > 30, "only {lines} lines are shown");
}

#[test]
fn the_two_commands_stand_alone_on_their_lines() {
    let commands = blocks(&section("Two commands"), "sh").concat();
    let cargo: Vec<&str> = commands
        .lines()
        .filter(|l| !l.contains("install"))
        .collect();
    assert_eq!(
        cargo,
        [
            "cargo run --release -- demo",
            "cargo test --release --workspace"
        ]
    );
}

#[test]
fn the_table_of_commands_is_complete() {
    let help = typed(&["--help"]).works();
    let (_, list) = help.split_once("Commands:\n").expect("a list");
    let list = list.lines().take_while(|l| !l.is_empty());
    // what goes on below a long line stands deeper
    let known = list
        .filter_map(|l| l.strip_prefix("  ").filter(|l| !l.starts_with(' ')))
        .filter_map(|l| l.split_whitespace().next())
        .filter(|w| *w != "help");
    let section = section("Commands");
    let rows = section
        .lines()
        .filter_map(|l| l.strip_prefix("| `wingtide "));
    let told = rows.filter_map(|r| r.split([' ', '`']).next());
    assert_eq!(
        told.collect::<BTreeSet<_>>(),
        known.collect::<BTreeSet<_>>()
    );
}

#[test]
fn the_commands_and_options_of_the_table_are_understood() {
    let section = section("Commands");
    let rows = section.lines().filter(|l| l.starts_with("| `wingtide "));
    for row in rows {
        let (command, rest) = row["| `wingtide ".len()..]
            .split_once('`')
            .expect("a command");
        let name = command.split(' ').next().expect("a name");
        let help = typed(&[name, "--help"]).works();
        let options = command.split(' ').chain(rest.split(['`', ' ']));
        for option in options.filter(|o| o.starts_with("--")) {
            assert!(help.contains(option), "{name} knows no {option}");
        }
    }
}

/// Every key in a document.
fn keys(value: &Value, into: &mut BTreeSet<String>) {
    match value {
        Value::Array(items) => items.iter().for_each(|v| keys(v, into)),
        Value::Object(fields) => {
            into.extend(fields.keys().cloned());
            fields.values().for_each(|v| keys(v, into));
        }
        _ => {}
    }
}

#[test]
fn every_key_of_the_json_is_documented() {
    let told = section("JSON for other programs");
    for args in [
        &["windows", "--json"][..],
        &["batches", "--json"],
        &["second-look", "--since", "2015-01-01", "--json"],
        &[
            "season",
            "--site",
            "long-bank",
            "--date",
            "2026-09-09",
            "--json",
        ],
        &[
            "curve",
            "--site",
            "long-bank",
            "--species",
            "Calidris minuta",
            "--json",
        ],
        &[
            "week",
            "--site",
            "long-bank",
            "--date",
            "2026-09-09",
            "--json",
        ],
        &[
            "plan",
            "--from",
            "2026-08-01",
            "--to",
            "2026-10-31",
            "--date",
            "2026-08-01",
            "--json",
        ],
    ] {
        let mut found = BTreeSet::new();
        keys(&demo(args).json(), &mut found);
        for key in found {
            assert!(told.contains(&format!("`{key}`")), "{key} of {args:?}");
        }
    }
}

#[test]
fn where_a_species_stands_is_defined_in_the_programs_own_words() {
    let told = section("What the numbers mean");
    for word in [
        "arriving",
        "at peak",
        "staying",
        "leaving",
        "outside its window",
        "no dates",
        "never recorded here",
    ] {
        assert!(told.contains(&format!("\n| {word} | ")), "{word}");
    }
    let percent = |p: f64| format!("below {:.0} %", 100.0 * p);
    for bound in [
        forecast::stands::OUTSIDE_BELOW,
        forecast::stands::STRAGGLERS_BELOW,
    ] {
        assert!(told.contains(&percent(bound)), "{bound}");
    }
    let least = format!(
        "from {} birds in {} seasons on",
        forecast::passage::LEAST_BIRDS,
        forecast::passage::LEAST_SEASONS
    );
    assert!(told.contains(&least), "{least}");
}

#[test]
fn files_that_are_named_exist() {
    let text =
        text() + &std::fs::read_to_string(repository().join("DEVELOPERS.md")).expect("it is there");
    let quoted = text.split('`').skip(1).step_by(2);
    let linked = text.split("](").skip(1).filter_map(|t| t.split(')').next());
    let ours = |t: &&str| {
        let folder = t.split('/').next().unwrap_or_default();
        ["config", "forecast", "ingest", "notifier", "tests"].contains(&folder)
            && !t.contains([' ', '{', '*'])
    };
    let mut named = 0;
    for path in quoted.chain(linked).filter(ours) {
        assert!(repository().join(path).exists(), "{path} is not there");
        named += 1;
    }
    assert!(named > 20, "{named}");
}
