//! A wrong file loaded, noticed and undone, as a keeper does it.

use harness::program::Workspace;
use serde_json::json;

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
date_order = "year-month-day"
fully_reported = true
columns = { date = "Date", site = "Place", species = "Bird", count = "How many" }
"#;

const RIGHT: &str = "Date,Place,Bird,How many\n2024-09-14,Old Pans,Little Stint,3\n\
    2024-09-15,Old Pans,Little Stint,1\n";

#[test]
fn a_wrong_file_is_undone_and_not_loaded_behind_ones_back() {
    let workspace = Workspace::empty()
        .with("wingtide.toml", SETTINGS)
        .with("counts.csv", RIGHT);
    workspace.run(&["load"]).works();
    workspace.write(
        "counts.csv",
        RIGHT.replace(",1\n", ",100\nnonsense,Old Pans,Little Stint,1\n"),
    );
    let told = workspace.run(&["load"]).works();
    assert!(
        told.contains("Against batch 1: 0 rows added, 1 changed, 0 removed"),
        "{told}"
    );
    let undone = workspace.run(&["undo", "2"]).works();
    let first = "Batch 2 of source notebook is undone; the rows of batch 1 are in use again.\n";
    assert!(undone.starts_with(first), "{undone}");
    let left_alone = workspace.run(&["load"]).works();
    assert!(left_alone.starts_with("Nothing to do"), "{left_alone}");
    assert!(left_alone.contains("load --again"), "{left_alone}");

    let listed = workspace.run(&["batches"]).works();
    let lines: Vec<Vec<&str>> = listed
        .lines()
        .map(|l| {
            l.split("  ")
                .map(str::trim)
                .filter(|c| !c.is_empty())
                .collect()
        })
        .collect();
    assert_eq!(
        lines[1][2..],
        ["notebook", "2", "0", "current", "counts.csv"]
    );
    assert_eq!(
        lines[2][2..],
        ["notebook", "2", "1", "undone", "counts.csv"]
    );
    assert!(
        listed.contains("On the disk:") && listed.contains("5 former batches"),
        "{listed}"
    );
    let json = workspace.run(&["batches", "--json"]).json();
    let second = &json["batches"][1];
    assert_eq!(
        (&second["state"], &second["changes"]),
        (
            &json!("undone"),
            &json!({ "since": 1, "added": 0, "changed": 1, "removed": 0 })
        )
    );
    assert_eq!(json["disk"]["former"], 0);

    workspace.run(&["load", "--again"]).works();
    let json = workspace.run(&["batches", "--json"]).json();
    let states: Vec<_> = json["batches"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|b| &b["state"])
        .collect();
    assert_eq!(states, ["replaced", "undone", "current"]);
}
