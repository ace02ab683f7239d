//! The small reserve, loaded and fitted, and what is asked of it over and over.

use harness::program::Workspace;
use harness::reserve::{counts, settings};
use serde_json::Value;
use std::collections::BTreeMap;

/// The week of the digest that the tests send.
pub const DATE: &str = "2024-09-04";

const SITES: [(&str, &str); 2] = [("long-bank", "Long Bank"), ("loch-arne", "Loch Arne")];

/// The reserve with more settings behind its own.
pub fn reserve(more: &str) -> Workspace {
    let workspace = Workspace::empty()
        .with("counts.csv", counts(&SITES))
        .with("wingtide.toml", settings(&SITES) + more);
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
}

/// Other settings behind the reserve's own, as somebody changes them.
pub fn resettle(workspace: &Workspace, more: &str) {
    workspace.write("wingtide.toml", settings(&SITES) + more);
}

/// `digest --send` as it went: exit code, counts by state, and what was said.
pub fn send(workspace: &Workspace) -> (u8, BTreeMap<String, usize>, String) {
    let ran = workspace.run(&["digest", "--send", "--date", DATE]);
    (ran.code, states(&ran.out), ran.err)
}

/// "  3 sent" and so on.
pub fn states(out: &str) -> BTreeMap<String, usize> {
    let line = |line: &str| {
        let (count, state) = line.trim().split_once(' ')?;
        Some((state.to_owned(), count.parse().ok()?))
    };
    out.lines().filter_map(line).collect()
}

/// Every delivery of the last digest, by recipient.
pub fn deliveries(workspace: &Workspace) -> BTreeMap<String, Value> {
    let all = workspace
        .run(&["deliveries", "--json", "--addresses"])
        .json();
    let rows = all["digests"][0]["deliveries"].as_array().expect("rows");
    let named = |row: &Value| {
        let name = row["recipient"].as_str().expect("a recipient");
        (name.to_owned(), row.clone())
    };
    rows.iter().map(named).collect()
}

/// A `[[recipient]]`.
pub fn recipient(mail: &str, more: &str) -> String {
    format!("\n[[recipient]]\nmail = \"{mail}\"\n{more}\n")
}
