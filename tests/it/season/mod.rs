//! Seasons of the real counts: every sentence that is printed is read back and held to the numbers
//! that other programs get, and the first dates among them to the tables themselves.
//!
//! Source of the tables: Winger, Weeks, Farnsworth, Jones, Hennen & Willard (2019), Dryad,
//! doi:10.5061/dryad.8rr0498, CC0.

mod finds;
mod first_dates;
mod gap;
mod leading;
mod paragraph;
mod sentences;
mod stale;

use harness::night_migrants;
use harness::places;
use harness::program::Workspace;
use serde_json::Value;
use std::sync::LazyLock;

const ABSENT: &str = "../shared/data is absent";

/// Site and the rest of the command line of each report that is read.
const ASKED: [&[&str]; 12] = [
    &["MP", "--season", "2010-spring"],
    &["MP", "--season", "2010-autumn"],
    &["MP", "--season", "2011-spring"],
    &["MP", "--season", "2011-autumn"],
    &["CHI", "--season", "2010-spring"],
    &["CHI", "--season", "2010-autumn"],
    &["CHI", "--season", "2011-spring"],
    &["CHI", "--season", "2011-autumn"],
    &["MP", "--date", "2010-10-08"],
    &["CHI", "--date", "2010-05-12"],
    &["CHI", "--date", "2011-09-20"],
    &["MP", "--date", "2011-04-20"],
];

/// One report: what is printed, the page's sentences, and the JSON.
struct Told {
    asked: String,
    text: String,
    page: String,
    json: Value,
}

static TOLD: LazyLock<Option<Vec<Told>>> = LazyLock::new(|| {
    let workspace = night_migrants::workspace()?;
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    Some(ASKED.iter().map(|a| told(&workspace, a)).collect())
});

fn told(workspace: &Workspace, asked: &[&str]) -> Told {
    // a file of its own: tests share a workspace
    let path = workspace.path(&format!("season{}.html", asked.concat()));
    let page = ["--page", path.to_str().expect("a plain path")];
    let command = [&["season", "--site"], asked].concat();
    let text = workspace.run(&[&command[..], &["--all"], &page].concat());
    Told {
        asked: asked.join(" "),
        text: text.works(),
        page: std::fs::read_to_string(&path).expect("the page"),
        json: workspace.run(&[&command[..], &["--json"]].concat()).json(),
    }
}

fn all() -> Option<&'static Vec<Told>> {
    if TOLD.is_none() {
        places::skipped(ABSENT);
    }
    TOLD.as_ref()
}

#[test]
fn the_summary_counts_what_the_numbers_say() {
    let Some(all) = all() else { return };
    for told in all {
        let passages = told.json["passages"].as_array().expect("passages");
        let flowing = told.text.split_whitespace().collect::<Vec<_>>().join(" ");
        let Some((_, said)) = flowing.split_once("told of, ") else {
            assert!(
                passages.iter().all(|p| p["days_late"].is_null()),
                "{}",
                told.asked
            );
            continue;
        };
        let number = |key: &str, end: usize, beyond: f64, above: bool| {
            let inside = |p: &&Value| {
                p[key]["interval"][end]
                    .as_f64()
                    .is_some_and(|x| if above { x > beyond } else { x < beyond })
            };
            passages.iter().filter(inside).count()
        };
        let expected = format!(
            "{} run early, {} late, {} strong and {} weak",
            number("days_late", 1, 0.0, false),
            number("days_late", 0, 0.0, true),
            number("times_usual", 0, 1.0, true),
            number("times_usual", 1, 1.0, false),
        );
        assert!(
            said.starts_with(&expected),
            "{}: {expected}\n{said}",
            told.asked
        );
        let chance = |p: &Value| p["odd"]["chance"].as_f64();
        let odd = passages
            .iter()
            .filter(|p| chance(p).is_some_and(|c| c <= 0.05));
        let known = passages.iter().filter(|p| chance(p).is_some());
        let words = format!("{} of {} passage", odd.count(), known.count());
        assert!(said.contains(&words), "{}: {words}\n{said}", told.asked);
        // the oddest first, those not told last
        let order: Vec<f64> = passages.iter().map(|p| chance(p).unwrap_or(2.0)).collect();
        assert!(order.is_sorted(), "{}", told.asked);
    }
}

#[test]
fn a_season_that_is_not_there_is_said_so() {
    let Some(workspace) = night_migrants::workspace() else {
        return places::skipped(ABSENT);
    };
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let said = |season| {
        workspace
            .run(&["season", "--site", "MP", "--season", season])
            .fails()
    };
    assert!(said("1990-spring").contains("visits of spring are loaded from 2000 to 2011"));
    assert!(said("2010-winter").contains("no species has a winter passage at MP"));
}
