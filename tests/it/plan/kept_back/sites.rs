//! Sites that are withheld or coarsened, and what is left of a plan for them.

use super::{all, area, hide, plan, workspace};
use crate::plan::{number, visits};
use crate::web::scene::Pages;
use axum::http::StatusCode;
use serde_json::Value;

/// A site that was withheld after the plan was kept had a part in its numbers, and a bird of its own.
#[test]
fn of_a_site_that_is_withheld_later_no_number_is_left() {
    let workspace = workspace("", "");
    let counts = std::fs::read_to_string(workspace.path("counts.csv")).expect("counts");
    let only_there = (2014..2024).flat_map(|year| {
        let row = move |day: u32| format!("{year}-09-{day:02},secret-hide,Limosa lapponica,4\n");
        [2, 5, 8, 11, 14].map(row)
    });
    workspace.write("counts.csv", counts + &only_there.collect::<String>());
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let plan = plan(&workspace, &[]);
    let hidden = visits(&plan).iter().filter(|v| v["site"] == "secret-hide");
    let left = visits(&plan).len() - hidden.count();
    assert!(left > 0 && left < visits(&plan).len(), "{plan}");
    let pages = Pages::of(&workspace);
    let shown = || -> Value {
        let open = ["west-hide", "east-hide"].into_iter();
        let told = open.map(|site| pages.get(&format!("/api/v1/sites/{site}/plans")));
        let told = told.map(|a| serde_json::from_slice(&a.body).expect("JSON"));
        let mut plans = told.filter_map(|plans: Value| plans.get(0).cloned());
        plans.next().expect("a plan")
    };
    assert!(shown().to_string().contains("Limosa lapponica"));
    assert!(shown()["dates_to_choose_from"].is_u64());
    hide(&workspace, "id = \"secret-hide\"");
    assert!(pages.web.refresh());
    let told = shown();
    assert_eq!(visits(&told).len(), left);
    assert!(!told.to_string().contains("Limosa lapponica"), "{told}");
    for key in [
        "expected",
        "at_most",
        "sure",
        "dates_to_choose_from",
        "unwatched_dates",
    ] {
        assert!(told[key].is_null(), "{key}: {told}");
    }
    let targets = told["targets"].as_array().expect("targets");
    assert!(!targets.is_empty(), "{told}");
    for target in targets {
        let known = target.as_object().expect("an object").iter();
        let mut known: Vec<&str> = { known }
            .filter_map(|(key, value)| (!value.is_null()).then_some(key.as_str()))
            .collect();
        known.sort_unstable();
        assert_eq!(known, ["name", "species", "weight"], "{target}");
    }
    for visit in visits(&told) {
        let chances = visit["for"].as_array().expect("a list").iter();
        let chances: Vec<f64> = chances.map(|p| number(p, "chance")).collect();
        assert!(chances.is_sorted_by(|a, b| a >= b), "{visit}");
    }
    let page = pages.get("/plan");
    let said = "These are visits of that plan, not the whole of it";
    assert!(page.text().contains(said), "{}", page.text());
    assert!(!page.text().contains("planned anew") && !page.text().contains("Limosa"));
}

/// Times to the minute would tell where the sun rises so.
#[test]
fn a_coarsened_site_has_dates_under_another_name_and_no_times() {
    let coarse = "sensitive = \"coarsen\"\ncautions = \"By the old kiln.\"\n";
    let workspace = workspace("", coarse);
    let made = plan(&workspace, &["--site", "secret-hide"]);
    let pages = Pages::of(&workspace);
    let area = area(pages.get("/").text()).expect("a coarsened site");
    let page = pages.get(&format!("/{area}/plan"));
    assert_eq!(page.code, StatusCode::OK);
    for (path, told) in all(&pages) {
        let told = told.to_lowercase();
        for secret in ["secret-hide", "hidden pool", "old kiln", "sunrise 0"] {
            assert!(!told.contains(secret), "{secret} in {path}: {told}");
        }
    }
    let calendar = pages.get(&format!("/{area}/plan.ics"));
    let calendar = calendar.text();
    assert_eq!(
        calendar.matches("DTSTART;VALUE=DATE:").count(),
        visits(&made).len()
    );
    let answer = pages.get(&format!("/api/v1/sites/{area}/plans"));
    let told: Value = serde_json::from_slice(&answer.body).expect("JSON");
    assert_eq!(visits(&told[0]).len(), visits(&made).len());
    for visit in visits(&told[0]) {
        assert!(
            visit["start"].is_null() && visit["sunrise"].is_null(),
            "{visit}"
        );
    }
}
