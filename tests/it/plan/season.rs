//! Planning again in mid-season, from what was found.

use super::{SITES, autumn, number, reserve, target, text, visits};
use harness::program::Workspace;
use harness::reserve::counts;
use serde_json::Value;

/// The counts with more rows, loaded.
fn count(workspace: &Workspace, rows: &str) {
    workspace.write("counts.csv", counts(&SITES) + rows);
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
}

#[test]
fn what_was_found_counts_no_more() {
    let workspace = reserve("");
    let before = autumn(&workspace, "2024-08-10", &["--visits", "4", "--json"]).json();
    assert!(target(&before, "Calidris minuta")["found_on"].is_null());
    count(&workspace, "2024-08-03,long-bank,Little Stint,2\n");
    let after = autumn(&workspace, "2024-08-10", &["--visits", "4", "--json"]).json();
    let stint = target(&after, "Calidris minuta");
    assert_eq!(text(stint, "found_on"), "2024-08-03");
    for visit in visits(&after) {
        let purpose = visit["for"].as_array().expect("a list");
        assert!(
            purpose.iter().all(|p| p["species"] != "Calidris minuta"),
            "{visit}"
        );
    }
    assert!(number(&after, "expected") < number(&before, "expected"));
    // what is found on or after the day of planning is not known then
    count(&workspace, "2024-08-12,long-bank,Little Stint,2\n");
    let early = autumn(&workspace, "2024-08-10", &["--visits", "4", "--json"]).json();
    assert!(target(&early, "Calidris minuta")["found_on"].is_null());
}

#[test]
fn what_a_targeted_visit_found_counts_no_more_and_stays_out_of_the_curves() {
    let workspace = reserve("");
    let before = workspace.run(&[
        "curve",
        "--site",
        "outer-ness",
        "--species",
        "Little Stint",
        "--json",
    ]);
    let before = before.json();
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let source = "\n[[source]]\nid = \"planned\"\nkind = \"counts\"\nfile = \"planned.csv\"\n\
         date_order = \"year-month-day\"\nfully_reported = true\npurpose = \"targeted\"\n\
         columns = { date = \"Date\", site = \"Site\", species = \"Bird\", count = \"Number\" }\n";
    workspace.write("wingtide.toml", settings + source);
    workspace.write(
        "planned.csv",
        "Date,Site,Bird,Number\n2024-08-20,outer-ness,Little Stint,1\n",
    );
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let plan = autumn(&workspace, "2024-08-25", &["--visits", "3", "--json"]).json();
    assert_eq!(
        text(target(&plan, "Calidris minuta"), "found_on"),
        "2024-08-20"
    );
    let after = workspace.run(&[
        "curve",
        "--site",
        "outer-ness",
        "--species",
        "Little Stint",
        "--json",
    ]);
    assert_eq!(before, after.json());
}

#[test]
fn past_dates_of_a_kept_plan_are_fixed_and_counted() {
    let workspace = reserve("");
    let first = autumn(
        &workspace,
        "2024-07-20",
        &["--visits", "5", "--keep", "--json"],
    )
    .json();
    let days: Vec<&str> = visits(&first).iter().map(|v| text(v, "date")).collect();
    let later = autumn(&workspace, days[2], &["--visits", "5", "--json"]).json();
    let (past, to_come): (Vec<_>, Vec<_>) = visits(&later).iter().partition(|v| v["past"] == true);
    assert_eq!(past.len() + to_come.len(), 5);
    let past: Vec<&str> = past.iter().map(|v| text(v, "date")).collect();
    let before: Vec<&str> = days.iter().copied().filter(|d| *d < days[2]).collect();
    assert_eq!(past, before);
    assert!(to_come.iter().all(|v| text(v, "date") >= days[2]));
    let none_left = autumn(&workspace, days[2], &["--visits", "1", "--json"]).json();
    assert!(visits(&none_left).iter().all(|v| v["past"] == true));
}

/// In the evening of a planned day: its visit is neither planned again nor taken off the calendar.
#[test]
fn a_visit_made_today_counts_as_kept() {
    let workspace = reserve("");
    let plan = ["--visits", "5", "--keep", "--json"];
    let first = autumn(&workspace, "2024-07-20", &plan).json();
    let third = &visits(&first)[2];
    let (day, site) = (text(third, "date"), text(third, "site"));
    let counts = std::fs::read_to_string(workspace.path("counts.csv")).expect("counts");
    workspace.write("counts.csv", format!("{counts}{day},{site},Dunlin,40\n"));
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let evening = autumn(&workspace, day, &plan).json();
    assert_eq!(visits(&evening).len(), 5, "{evening}");
    let made = visits(&evening)
        .iter()
        .find(|v| v["past"] == true && text(v, "date") == day);
    assert_eq!(made.map(|v| text(v, "site")), Some(site), "{evening}");
    let kept = std::fs::read_to_string(workspace.path("wingtide-store/plan.json")).expect("kept");
    let kept: Value = serde_json::from_str(&kept).expect("JSON");
    let entries = kept["entries"].as_array().expect("entries");
    let entry = entries
        .iter()
        .find(|e| e["date"] == day && e["site"] == site);
    let entry = entry.expect("it is still there");
    assert_eq!(
        (&entry["sequence"], &entry["cancelled"]),
        (&0.into(), &false.into())
    );
}
