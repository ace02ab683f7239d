//! A wrong file loaded, noticed and undone, as a keeper does it.

use harness::program::Workspace;
use harness::written;
use serde_json::json;

fn settings() -> String {
    let stint = written::species("Calidris minuta", "Little Stint");
    let site = written::site("old-pans", "Old Pans");
    let notebook = written::notebook("year-month-day");
    [written::workspace("My patch"), site, stint, notebook].concat()
}

const RIGHT: &str = "Date,Place,Bird,How many\n2024-09-14,Old Pans,Little Stint,3\n\
    2024-09-15,Old Pans,Little Stint,1\n";

#[test]
fn a_wrong_file_is_undone_and_not_loaded_behind_ones_back() {
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings())
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
    assert_eq!(lines[1][2..], ["notebook", "2", "0", "current, counts.csv"]);
    assert_eq!(lines[2][2..], ["notebook", "2", "1", "undone, counts.csv"]);
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

#[test]
fn a_former_load_is_shown_and_has_a_page() {
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings())
        .with("counts.csv", RIGHT.replace(",1\n", ",one\n"));
    workspace.run(&["load"]).works();
    workspace.write("counts.csv", RIGHT);
    workspace.run(&["load"]).works();
    let shown = workspace.run(&["batches", "1"]).works();
    assert!(
        shown.starts_with("Batch 1 of source notebook: replaced by 2.\n"),
        "{shown}"
    );
    assert!(shown.contains("line 3, How many \"one\""), "{shown}");
    let page = std::fs::read_to_string(workspace.path("report/batch-1.html")).expect("a page");
    assert!(
        page.contains("Batch 1 of source notebook: replaced by 2."),
        "{page}"
    );
    assert!(
        page.contains("How many &quot;one&quot;") && page.contains("<svg viewBox"),
        "{page}"
    );
    assert!(
        !page.contains("worth a second look"),
        "nobody looked for any"
    );
    let json = workspace.run(&["batches", "2", "--json"]).json();
    assert_eq!(
        (&json["batch"]["state"], &json["report"]["accepted"]),
        (&json!("current"), &json!(2))
    );
    let said = workspace.run(&["batches", "7"]).fails();
    assert!(said.contains("there is no batch 7"), "{said}");
    assert!(!workspace.path("report/batch-7.html").exists());
}

#[test]
fn an_observer_is_erased_from_store_and_pages() {
    let settings = settings()
        .replace(
            "name = \"My patch\"",
            "name = \"My patch\"\nkeep_observers = \"names\"",
        )
        .replace(
            "count = \"How many\"",
            "count = \"How many\", observer = \"Who\"",
        );
    let counts = "Date,Place,Bird,How many,Who\n2024-09-14,Old Pans,Little Stint,3,Ann Warden\n\
        2024-09-15,Old Pans,Little Stint,said Ann Warden,B. Keeper\n";
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings)
        .with("counts.csv", counts);
    workspace.run(&["load"]).works();
    workspace.run(&["batches", "1"]).works();
    let holds = |folder: &str| {
        let files = std::fs::read_dir(workspace.path(folder)).expect("a folder");
        let all = files.flat_map(|f| std::fs::read(f.expect("a file").path()).expect("its bytes"));
        String::from_utf8_lossy(&all.collect::<Vec<u8>>()).contains("Warden")
    };
    assert!(holds("report") && holds(ingest::STORE_FOLDER));
    let ran = workspace.run(&["erase-observer", "Ann Warden"]);
    let on_a_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        on_a_line(&ran.err).contains("may still have it: counts.csv. It comes back when"),
        "{}",
        ran.err
    );
    let told = on_a_line(&ran.works());
    assert!(
        told.starts_with("Erased \"Ann Warden\" from 1 row of 1 batch, and from other texts"),
        "{told}"
    );
    assert!(!holds("report") && !holds(ingest::STORE_FOLDER));
    assert!(
        workspace
            .run(&["load"])
            .works()
            .starts_with("Nothing to do")
    );
    let said = workspace.run(&["erase-observer", "Ann Warden"]).fails();
    assert!(
        said.contains("no observer is kept as \"Ann Warden\""),
        "{said}"
    );
}
