//! Where nobody looked any more, the last season with counts leads, and what nobody looked for is named.

use chrono::{Datelike, NaiveDate};
use harness::program::Workspace;
use harness::written;
use serde_json::{Value, json};
use std::fmt::Write;
use std::sync::LazyLock;

const SOURCE: &str = r#"
[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
fully_reported = true
columns = { date = "Date", species = "Bird", count = "Number" }
"#;

/// Species, day of the year of its peak, birds then: two of autumn, and one after them.
const BIRDS: [(&str, &str, f64, f64); 3] = [
    ("Calidris minuta", "Little Stint", 249.0, 9.0),
    ("Calidris alpina", "Dunlin", 245.0, 30.0),
    ("Plectrophenax nivalis", "Snow Bunting", 315.0, 12.0),
];

fn counted(table: &mut String, date: NaiveDate) {
    for (_, name, peak, most) in BIRDS {
        let off = (f64::from(date.ordinal()) - peak) / 9.0;
        let birds = (most * (-0.5 * off * off).exp()).round();
        // a row of none, so that the visit is told of too
        writeln!(table, "{date},{name},{birds}").expect("a String grows");
    }
}

/// Visits every four days from 1 August to 10 December, in the last year to 20 September alone.
fn counts() -> String {
    let mut table = "Date,Bird,Number\n".to_owned();
    for year in 2014..2024 {
        let day = |month, day| NaiveDate::from_ymd_opt(year, month, day).expect("a date");
        let last = if year == 2023 {
            day(9, 20)
        } else {
            day(12, 10)
        };
        let dates = day(8, 1 + (year % 4) as u32).iter_days().step_by(4);
        dates
            .take_while(|d| *d <= last)
            .for_each(|d| counted(&mut table, d));
    }
    table
}

static RESERVE: LazyLock<Workspace> = LazyLock::new(|| {
    let species = BIRDS.map(|(scientific, name, ..)| written::species(scientific, name));
    let parts = [
        written::workspace("Skerrow Ness"),
        species.concat(),
        SOURCE.to_owned(),
        written::site("long-bank", "Long Bank"),
    ];
    let workspace = Workspace::empty()
        .with("wingtide.toml", parts.concat())
        .with("counts.csv", counts());
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
});

fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn species(report: &Value) -> Vec<&str> {
    let passages = report["passages"].as_array().expect("passages").iter();
    let mut all: Vec<&str> = passages.filter_map(|p| p["species"].as_str()).collect();
    all.sort_unstable();
    all
}

#[test]
fn the_last_season_with_counts_leads_and_names_what_nobody_looked_for() {
    let asked = |more: &[&str]| {
        let command = [&["season", "--date", "2023-11-20"], more].concat();
        RESERVE.run(&command)
    };
    let report = asked(&["--json"]).json();
    assert_eq!(report["season"], "2023-autumn");
    assert_eq!(species(&report), ["Calidris alpina", "Calidris minuta"]);
    assert_eq!(report["lead"], json!({ "nobody_looked": ["Snow Bunting"] }));
    for p in report["passages"].as_array().expect("passages") {
        assert!(p["days_late"]["middle"].is_number(), "{p}");
    }
    let text = flowing(&asked(&[]).works());
    for said in [
        "Long Bank, autumn 2023 Counts go to 17 September 2023; nobody looked in the 64 days since",
        "so this is the last season with counts.",
        "Nobody looked since 17 September 2023 for Snow Bunting.",
        "A past season: --season 2022-autumn, for one",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert!(
        !text.contains("nobody looked -"),
        "no row without a number: {text}"
    );
}

#[test]
fn a_season_under_way_that_was_looked_at_is_told_of_itself() {
    let on = |date| RESERVE.run(&["season", "--date", date, "--json"]).json();
    let report = on("2022-11-10");
    assert_eq!(
        (&report["season"], &report["lead"]),
        (&json!(null), &json!(null))
    );
    assert_eq!(species(&report), ["Plectrophenax nivalis"]);
    // nothing is under way in spring
    let report = on("2023-04-10");
    assert_eq!(report["season"], "2022-autumn");
    assert_eq!(report["lead"], json!({ "nobody_looked": [] }));
    let text = flowing(&RESERVE.run(&["season", "--date", "2023-04-10"]).works());
    let said = "No passage with a curve is under way on 10 April 2023, so this is the last season with counts.";
    assert!(text.contains(said), "{text}");
}

#[test]
fn a_season_asked_for_is_told_whole() {
    let report = RESERVE
        .run(&["season", "--season", "2023-autumn", "--json"])
        .json();
    assert_eq!(report["lead"], json!(null));
    let passages = report["passages"].as_array().expect("passages");
    let bunting = passages
        .iter()
        .find(|p| p["species"] == "Plectrophenax nivalis");
    assert_eq!(bunting.expect("told of")["untold"], "not-looked");
}

#[test]
fn records_too_few_for_any_curve_are_said_to_be() {
    let settings = [
        written::workspace("Skerrow Ness"),
        written::species("Calidris minuta", "Little Stint"),
        SOURCE.to_owned(),
        written::site("long-bank", "Long Bank"),
    ];
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings.concat())
        .with(
            "counts.csv",
            "Date,Bird,Number\n2023-09-05,Little Stint,2\n",
        );
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let page = workspace.path("season.html");
    let text = workspace
        .run(&["season", "--page", page.to_str().expect("a plain path")])
        .works();
    let said = "No species has records enough for a curve yet.";
    assert!(text.contains(said), "{text}");
    let page = std::fs::read_to_string(&page).expect("the page");
    assert!(page.contains(said), "{page}");
}
