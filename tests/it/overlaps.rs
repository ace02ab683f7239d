//! Two files that tell of the same visits: what a keeper sees of it.

use harness::program::Workspace;
use harness::written;
use serde_json::json;

const SOURCES: &str = r#"
[[source]]
id = "diary"
kind = "counts"
file = "diary.csv"
date_order = "year-month-day"
fully_reported = true
columns = { date = "Date", species = "Bird", count = "Number", effort = "Minutes" }

[[source]]
id = "logbook"
kind = "counts"
file = "logbook.csv"
date_order = "year-month-day"
columns = { date = "Date", species = "Bird", count = "Number" }
"#;

fn settings() -> String {
    let birds = [
        written::species("Calidris alpina", "Dunlin"),
        written::species("Calidris minuta", "Little Stint"),
    ];
    let site = written::site("long-bank", "Long Bank");
    let workspace = written::workspace("Skerrow Ness");
    [workspace, site, birds.concat(), SOURCES.to_owned()].concat()
}

const DIARY: &str = "Date,Bird,Number,Minutes\n2024-05-01,Dunlin,3,60\n2024-05-02,Dunlin,4,60\n\
    2024-05-03,Dunlin,5,60\n2024-05-04,Dunlin,6,60\n";
const LOGBOOK: &str = "Date,Bird,Number\n2024-05-01,Dunlin,3\n2024-05-02,Dunlin,9\n\
    2024-05-03,Little Stint,2\n2024-05-09,Dunlin,7\n";

fn workspace(settings: &str) -> Workspace {
    Workspace::empty()
        .with("wingtide.toml", settings)
        .with("diary.csv", DIARY)
        .with("logbook.csv", LOGBOOK)
}

/// Places of the columns of the counts that an export writes.
const DATE: usize = 1;
const COUNT: usize = 5;

/// The cells of those counts' rows.
fn exported(workspace: &Workspace) -> Vec<Vec<String>> {
    let out = workspace.path("out");
    let out = out.to_str().expect("a plain path");
    let export = ["export", "--format", "csv", "--out", out];
    workspace.run(&export).works();
    let text = std::fs::read_to_string(workspace.path("out/counts.csv")).expect("counts");
    let rows = text.lines().skip(1);
    rows.map(|row| row.split(',').map(str::to_owned).collect())
        .collect()
}

#[test]
fn visits_told_twice_are_shown_on_screen_on_the_page_and_in_json() {
    let workspace = workspace(&settings());
    let told = workspace.run(&["load"]).works();
    for line in [
        "Visits that two sources tell of",
        "  diary and logbook: 3 visits (first: long-bank, 2024-05-01); 1 told alike, 1",
        "  Each is one visit: of each species the largest count stands",
    ] {
        assert!(told.contains(line), "{line}\n{told}");
    }
    let page = std::fs::read_to_string(workspace.path("report/load.html")).expect("the page");
    let row =
        "<tr><th scope=\"row\">diary and logbook</th><td>3</td><td>1</td><td>1</td><td>1</td></tr>";
    assert!(page.contains(row), "{page}");
    assert!(
        page.contains("first with other counts: long-bank, 2024-05-02"),
        "{page}"
    );
    let json = workspace.run(&["load", "--json"]).json();
    let expected = json!([{
        "sources": ["diary", "logbook"],
        "visits": 3,
        "alike": 1,
        "further": 1,
        "otherwise": 1,
        "first": { "site": "long-bank", "date": "2024-05-01" },
        "first_otherwise": { "site": "long-bank", "date": "2024-05-02" },
        "rule": "largest",
    }]);
    assert_eq!(json["overlaps"], expected);
}

/// Site, date, species, count and effort; the visit of the 9th is in the logbook alone, which is not
/// fully reported and gives no effort. Under `first` nobody tells of a Little Stint.
#[test]
fn what_is_passed_on_follows_the_rule() {
    let dunlins = |second: &str| format!("01 3|02 {second}|03 5|04 6|09 7");
    for (rule, alpina, minuta) in [
        ("largest", dunlins("9"), "01 0|02 0|03 2|04 0"),
        ("first", dunlins("4"), ""),
        (
            "add",
            dunlins("13").replacen('3', "6", 1),
            "01 0|02 0|03 2|04 0",
        ),
    ] {
        let workspace = workspace(&format!("{}\n[overlap]\nrule = \"{rule}\"\n", settings()));
        workspace.run(&["load"]).works();
        let rows = exported(&workspace);
        let told = |species: &str| {
            let own = rows
                .iter()
                .filter(|row| row.iter().any(|cell| cell == species));
            let days = own.map(|row| format!("{} {}", &row[DATE][8..], row[COUNT]));
            days.collect::<Vec<_>>().join("|")
        };
        assert_eq!(told("Calidris alpina"), alpina, "{rule} {rows:?}");
        assert_eq!(told("Calidris minuta"), minuta, "{rule} {rows:?}");
    }
}
