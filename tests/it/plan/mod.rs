//! Planning the visits: the command, the plan that is kept, calendar and field sheets.

mod browser;
mod calendar;
mod command;
mod followed;
mod kept_back;
mod readers;
mod refused;
mod season;
mod served;
mod sheets;

use harness::program::{Ran, Workspace};
use harness::reserve::{counts, settings};
use serde_json::Value;

const SITES: [(&str, &str); 2] = [("long-bank", "Long Bank"), ("outer-ness", "Outer Ness")];

/// Ten invented autumns at two sites, stints about 6 September, and these settings more.
fn reserve(more: &str) -> Workspace {
    let settings = settings(&SITES) + more;
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings)
        .with("counts.csv", counts(&SITES));
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
}

/// Plans the autumn of 2024 as on a date.
fn autumn(workspace: &Workspace, date: &str, more: &[&str]) -> Ran {
    let span = ["plan", "--from", "2024-08-01", "--to", "2024-10-20"];
    workspace.run(&[&span[..], &["--date", date], more].concat())
}

fn visits(plan: &Value) -> &Vec<Value> {
    plan["visits"].as_array().expect("visits")
}

fn text<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key]
        .as_str()
        .unwrap_or_else(|| panic!("{key} is no text in {value}"))
}

fn number(value: &Value, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} is no number in {value}"))
}

fn target<'v>(plan: &'v Value, species: &str) -> &'v Value {
    let all = plan["targets"].as_array().expect("targets");
    let found = all.iter().find(|t| t["species"] == species);
    found.expect("the species is a target")
}
