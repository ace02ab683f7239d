//! The year of a site on sheets and as a page: the dates of the windows, paper as asked for, letters
//! that can be read, without what is sensitive.

mod page;
mod sheets;

use crate::web::scene::fitted;
use chrono::NaiveDate;
use harness::program::Workspace;
use harness::reserve;
use serde_json::Value;
use std::fmt::Write;

const SITES: [(&str, &str); 2] = [("west-hide", "West Hide"), ("east-hide", "East Hide")];
const STINT: &str = "scientific = \"Calidris minuta\"";

/// The reserve of two hides with a Ruff seen twice, with this in its settings.
fn workspace(change: impl Fn(String) -> String) -> Workspace {
    let mut settings = reserve::settings(&SITES);
    settings.push_str(&harness::written::species("Calidris pugnax", "Ruff"));
    let mut counts = reserve::counts(&SITES);
    for date in ["2015-08-20", "2019-09-03"] {
        writeln!(counts, "{date},west-hide,Ruff,1").expect("a String grows");
    }
    fitted(&change(settings), &counts)
}

/// Runs `year` at the west hide for a file, and gives its bytes.
fn drawn(workspace: &Workspace, file: &str, more: &[&str]) -> Vec<u8> {
    let path = workspace.path(file);
    let name = path.to_str().expect("a plain path");
    let command = ["year", "--site", "west-hide", "--out", name];
    let told = workspace.run(&[&command, more].concat()).works();
    assert_eq!(told.trim_end(), name);
    std::fs::read(path).expect("a file")
}

/// The same as SVG, blanks as on a screen.
fn svg(workspace: &Workspace, more: &[&str]) -> String {
    let bytes = drawn(workspace, "year.svg", more);
    let text = String::from_utf8(bytes).expect("UTF-8");
    text.replace('\u{a0}', " ")
}

/// Arrival, peak and departure of each passage with dates at the west hide, from the command's JSON,
/// each as "3 Sep".
fn windows(workspace: &Workspace) -> Vec<[String; 3]> {
    let command = ["windows", "--site", "west-hide", "--json"];
    let rows = workspace.run(&command).json();
    let rows = rows.as_array().expect("rows").iter();
    let short = |date: &Value| {
        let day = date["day"].as_str()?;
        let date = NaiveDate::parse_from_str(&format!("2023-{day}"), "%Y-%m-%d");
        Some(date.expect("MM-DD").format("%-d %b").to_string())
    };
    let dated = rows.filter(|r| r["verdict"] == "curve");
    let dates = dated.filter_map(|r| {
        let [a, p, d] = ["arrival", "peak", "departure"].map(|key| short(&r[key]));
        Some([a?, p?, d?])
    });
    dates.collect()
}
