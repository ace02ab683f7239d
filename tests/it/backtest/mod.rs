//! `wingtide backtest` on the real counts: every row it must give and no other, nothing known
//! before its time, and scores worked out from its file of predictions alone, against
//! climatologies worked out here from the tables.
//!
//! Source of the tables: Winger, Weeks, Farnsworth, Jones, Hennen & Willard (2019), Dryad,
//! doi:10.5061/dryad.8rr0498, CC0.

mod by_hand;
mod effort;
mod invented;
mod leaks;
mod predictions;
mod rows;
mod scores;

use harness::night_migrants;
use harness::program::Workspace;
use serde_json::Value;
use std::sync::OnceLock;

const ABSENT: &str = "../shared/data is absent";

/// One backtest of the real counts.
struct Tested {
    /// The file of predictions.
    predictions: String,
    /// The summary.
    summary: Value,
}

/// 2006-2011, which no constant of the forecast was chosen on, made once for all tests.
fn tested() -> Option<&'static Tested> {
    static TESTED: OnceLock<Option<Tested>> = OnceLock::new();
    let made = || Some(backtest(&loaded()?, &["--from", "2006", "--to", "2011"]));
    TESTED.get_or_init(made).as_ref()
}

fn loaded() -> Option<Workspace> {
    let workspace = night_migrants::workspace()?;
    workspace.run(&["load"]).works();
    Some(workspace)
}

fn backtest(workspace: &Workspace, args: &[&str]) -> Tested {
    let file = workspace.path("predictions.csv");
    let path = file.to_str().expect("a path in UTF-8");
    let all = [&["backtest", "--json", "--predictions", path], args].concat();
    let summary = workspace.run(&all).json();
    let predictions = std::fs::read_to_string(file).expect("the file was written");
    Tested {
        predictions,
        summary,
    }
}
