//! Where finds alone are known, days without a row of a species are no days on which nobody looked.

use chrono::{Datelike, NaiveDate};
use harness::program::Workspace;
use harness::written;
use serde_json::{Value, json};
use std::fmt::Write;

const SOURCE: &str = r#"
[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
columns = { date = "Date", species = "Bird", count = "Number" }
"#;

/// Visits every four days of ten autumns, Little Stints on each; in the last autumn no Dunlin is
/// written down for a month at its peak.
fn counts() -> String {
    let mut table = "Date,Bird,Number\n".to_owned();
    for year in 2014..2024 {
        let day = |month, day| NaiveDate::from_ymd_opt(year, month, day).expect("a date");
        let without = year == 2023;
        for date in day(8, 1).iter_days().step_by(4).take(20) {
            let off = (f64::from(date.ordinal()) - 245.0) / 12.0;
            let birds = (30.0 * (-0.5 * off * off).exp()).round();
            writeln!(table, "{date},Little Stint,2").expect("a String grows");
            let is_written = birds > 0.0 && !(without && date > day(8, 18) && date < day(9, 16));
            if is_written {
                writeln!(table, "{date},Dunlin,{birds}").expect("a String grows");
            }
        }
    }
    table
}

#[test]
fn a_month_without_a_row_is_no_month_in_which_nobody_looked() {
    let species = [
        written::species("Calidris alpina", "Dunlin"),
        written::species("Calidris minuta", "Little Stint"),
    ];
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
    let asked = ["season", "--season", "2023-autumn", "--date", "2023-12-01"];
    let report = workspace.run(&[&asked[..], &["--json"]].concat()).json();
    let passages = report["passages"].as_array().expect("passages");
    let is_dunlin = |p: &&Value| p["species"] == "Calidris alpina";
    let dunlin = passages
        .iter()
        .find(is_dunlin)
        .expect("Dunlins are told of");
    assert_eq!(dunlin["gaps"], json!([]), "{report}");
    let text = workspace.run(&asked).out;
    assert!(!text.contains("Nobody looked from"), "{text}");
}
