//! What is sensitive is neither on the pages of a plan nor to be told from what is left there.

use super::served::day;
use super::{number, text, visits};
use crate::web::scene::{Pages, fitted};
use axum::http::StatusCode;
use harness::program::Workspace;
use harness::reserve;
use serde_json::Value;
use std::fmt::Write;

const SITES: [(&str, &str); 3] = [
    ("west-hide", "West Hide"),
    ("east-hide", "East Hide"),
    ("secret-hide", "Hidden Pool"),
];
const SECRETS: [&str; 5] = [
    "calidris alba",
    "calidris-alba",
    "sanderling",
    "secret-hide",
    "hidden pool",
];

/// Three hides with Sanderlings in late October, when the stints are gone; and what is said of them
/// and of the third hide.
fn workspace(species: &str, site: &str) -> Workspace {
    let mut settings = reserve::settings(&SITES);
    let _ = write!(
        settings,
        "{site}\n[[species]]\nscientific = \"Calidris alba\"\nnames = {{ en = \"Sanderling\" }}\n{species}\n"
    );
    let mut counts = reserve::counts(&SITES);
    for year in 2014..2024 {
        for day in [14, 18, 22] {
            for (site, _) in SITES {
                let _ = writeln!(counts, "{year}-10-{day},{site},Sanderling,{}", 3 + day % 4);
            }
        }
    }
    fitted(&settings, &counts)
}

fn plan(workspace: &Workspace, more: &[&str]) -> Value {
    let span = ["plan", "--from", "2024-09-01", "--to", "2024-10-25"];
    let kept = ["--date", "2024-09-01", "--visits", "6", "--keep", "--json"];
    workspace.run(&[&span[..], &kept, more].concat()).json()
}

/// Every page, feed and document of the plan.
fn all(pages: &Pages) -> Vec<(String, String)> {
    let home = pages.get("/");
    let mut sites = vec!["west-hide".to_owned(), "east-hide".to_owned()];
    sites.extend(area(home.text()));
    let mut paths = vec!["/plan".to_owned(), "/plan.ics".to_owned(), "/".to_owned()];
    for site in sites {
        let own = ["plan", "plan.ics", "plan/sheets"];
        paths.extend(own.map(|rest| format!("/{site}/{rest}")));
        paths.push(format!("/api/v1/sites/{site}/plans"));
    }
    let told = |path: String| {
        let text = pages.get(&path).text().replace("\r\n ", "");
        (path, text)
    };
    paths.into_iter().map(told).collect()
}

fn area(home: &str) -> Option<String> {
    let (_, rest) = home.split_once("href=\"/area-")?;
    Some(format!("area-{}", rest.split('"').next()?))
}

#[test]
fn a_withheld_species_and_a_withheld_site_are_nowhere_in_a_plan() {
    let workspace = workspace("sensitive = \"withhold\"", "sensitive = \"withhold\"\n");
    // a hide has to wait, so that all three are visited
    let plan = plan(&workspace, &["--gap", "20"]);
    let hidden = visits(&plan).iter().filter(|v| v["site"] == "secret-hide");
    assert!(hidden.count() > 0, "the hidden hide is visited: {plan}");
    let october: Vec<&Value> = visits(&plan)
        .iter()
        .filter(|v| text(v, "date") > "2024-10-08" && text(v, "date") < "2024-10-25")
        .collect();
    assert!(
        !october.is_empty(),
        "some dates are for Sanderlings alone: {plan}"
    );
    let pages = Pages::of(&workspace);
    for (path, told) in all(&pages) {
        let told = told.to_lowercase();
        for secret in SECRETS {
            assert!(!told.contains(secret), "{secret} in {path}: {told}");
        }
        // a date that was chosen for them alone would say that there is something
        for visit in &october {
            let date = text(visit, "date");
            for written in [
                day(visit).to_lowercase(),
                date.replace('-', ""),
                date.to_owned(),
            ] {
                assert!(!told.contains(&written), "{written} in {path}: {told}");
            }
        }
        // nothing tells how near the best it is, since the hidden weigh in that
        assert!(!told.contains("no choice within the rules"), "{path}");
    }
    let calendar = pages.get("/plan.ics");
    let entries = calendar.text().matches("BEGIN:VEVENT").count();
    assert!((1..visits(&plan).len()).contains(&entries), "{entries}");
}

/// A plan for the hidden species alone, and one of which nothing is told any more, have no date
/// anywhere; nor has a visit that was dropped.
#[test]
fn plans_for_what_is_hidden_alone_tell_no_date() {
    let workspace = workspace("sensitive = \"withhold\"", "");
    let hidden = plan(&workspace, &["--target", "Sanderling"]);
    let chosen: Vec<[String; 2]> = visits(&hidden)
        .iter()
        .map(|v| [day(v), text(v, "date").replace('-', "")])
        .collect();
    assert!(!chosen.is_empty(), "{hidden}");
    let nowhere = |when: &str| {
        for (path, told) in all(&Pages::of(&workspace)) {
            for written in chosen.iter().flatten() {
                assert!(
                    !told.contains(written.as_str()),
                    "{when}, {written} in {path}: {told}"
                );
            }
        }
    };
    nowhere("kept");
    let keep = |span: [&str; 4], more: &[&str]| {
        let kept = ["--date", "2024-09-02", "--keep", "--json"];
        let asked = [&["plan"][..], &span, &kept, more].concat();
        workspace.run(&asked).json()
    };
    let next = ["--from", "2025-08-20", "--to", "2025-09-10"];
    let other = keep(next, &["--visits", "2"]);
    let pages = Pages::of(&workspace);
    let told = pages.get("/plan");
    assert!(
        told.text().contains(&day(&visits(&other)[0])),
        "{}",
        told.text()
    );
    nowhere("beside another");
    let same = ["--from", "2024-09-01", "--to", "2024-10-25"];
    keep(same, &["--target", "Sanderling", "--visits", "1"]);
    nowhere("dropped");
}

/// The numbers are those of a workspace that never had the species, planned for the same dates.
#[test]
fn numbers_in_all_do_not_count_what_is_hidden() {
    let with = workspace("sensitive = \"withhold\"", "");
    plan(&with, &[]);
    let shown = |pages: &Pages| -> Value {
        let answer = pages.get("/api/v1/sites/west-hide/plans");
        serde_json::from_slice(&answer.body).expect("JSON")
    };
    let told = shown(&Pages::of(&with));
    let told = &told[0];
    assert!(told["at_most"].is_null(), "{told}");
    let targets = told["targets"].as_array().expect("targets");
    assert_eq!(targets.len(), 2, "{told}");
    let sum: f64 = targets.iter().map(|t| number(t, "chance")).sum();
    assert!((sum - number(told, "expected")).abs() < 1e-9, "{told}");
    assert!(!visits(told).is_empty(), "some are for what may be told");
    for visit in visits(told) {
        assert_ne!(visit["for"].as_array().map(Vec::len), Some(0), "{visit}");
    }
}

/// A species that was made sensitive after the plan was kept.
#[test]
fn what_is_kept_back_later_leaves_the_kept_plan_too() {
    let workspace = workspace("", "");
    plan(&workspace, &[]);
    let pages = Pages::of(&workspace);
    assert!(pages.get("/plan").text().contains("Sanderling"));
    withhold(&workspace, "id = \"secret-hide\"");
    withhold(&workspace, "names = { en = \"Sanderling\" }");
    assert!(pages.web.refresh());
    for (path, told) in all(&pages) {
        let told = told.to_lowercase();
        for secret in SECRETS {
            assert!(!told.contains(secret), "{secret} in {path}: {told}");
        }
    }
}

/// Makes sensitive what the settings have that line of.
fn withhold(workspace: &Workspace, line: &str) {
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    assert!(settings.contains(line), "{line}");
    let hidden = settings.replace(line, &format!("{line}\nsensitive = \"withhold\""));
    workspace.write("wingtide.toml", hidden);
}

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
    withhold(&workspace, "id = \"secret-hide\"");
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
