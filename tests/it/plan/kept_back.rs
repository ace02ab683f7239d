//! What is sensitive is neither on the pages of a plan nor to be told from what is left there.

mod sites;

use super::served::day;
use super::{number, text, visits};
use crate::web::scene::{Pages, fitted};
use chrono::NaiveDate;
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
    let days = [14, 18, 22].map(|day| (day, format!("Sanderling,{}", 3 + day % 4)));
    reserve_with(&listed(species), site, &days)
}

fn listed(species: &str) -> String {
    format!(
        "[[species]]\nscientific = \"Calidris alba\"\nnames = {{ en = \"Sanderling\" }}\n{species}\n"
    )
}

/// The three hides with these days of October more.
fn reserve_with(species: &str, site: &str, days: &[(u32, String)]) -> Workspace {
    let settings = reserve::settings(&SITES) + &format!("{site}\n{species}");
    let mut counts = reserve::counts(&SITES);
    for year in 2014..2024 {
        for (day, birds) in days {
            for (site, _) in SITES {
                let _ = writeln!(counts, "{year}-10-{day},{site},{birds}");
            }
        }
    }
    fitted(&settings, &counts)
}

fn plan(workspace: &Workspace, more: &[&str]) -> Value {
    planned(workspace, &[&["--visits", "6", "--keep"], more].concat())
}

fn planned(workspace: &Workspace, more: &[&str]) -> Value {
    let span = ["plan", "--from", "2024-09-01", "--to", "2024-10-25"];
    let told = ["--date", "2024-09-01", "--json"];
    workspace.run(&[&span[..], &told, more].concat()).json()
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

/// The visits that are chiefly for Sanderlings, as whoever plans is told.
fn for_sanderlings(plan: &Value) -> Vec<&Value> {
    let chiefly = |visit: &&Value| {
        let purpose = visit["for"].as_array().expect("a list");
        let lost = |p: &&Value| number(p, "lost");
        let hidden = purpose.iter().filter(|p| p["species"] == "Calidris alba");
        hidden.map(|p| lost(&p)).sum::<f64>() > 0.5 * purpose.iter().map(|p| lost(&p)).sum::<f64>()
    };
    let chosen: Vec<&Value> = visits(plan).iter().filter(chiefly).collect();
    assert!(
        !chosen.is_empty(),
        "some dates are for Sanderlings alone: {plan}"
    );
    chosen
}

/// A date as pages, addresses and calendars write it.
fn written(visit: &Value) -> [String; 3] {
    let date = text(visit, "date");
    let full = day(visit).to_lowercase();
    // rain dates are written without a year
    let (short, _) = full.rsplit_once('\u{a0}').expect("a year");
    [short.to_owned(), date.replace('-', ""), date.to_owned()]
}

/// A date that was chosen for what is hidden would say that there is something.
fn nowhere(pages: &Pages, dates: &[&Value], when: &str) {
    for (path, told) in all(pages) {
        let told = told.to_lowercase();
        for date in dates.iter().flat_map(|v| written(v)) {
            assert!(!told.contains(&date), "{when}, {date} in {path}: {told}");
        }
    }
}

fn nameless(pages: &Pages) {
    for (path, told) in all(pages) {
        let told = told.to_lowercase();
        for secret in SECRETS {
            assert!(!told.contains(secret), "{secret} in {path}: {told}");
        }
        // nothing tells how near the best it is, since the hidden weigh in that
        assert!(!told.contains("no choice within the rules"), "{path}");
    }
}

/// The plans of a hide as programs get them.
fn plans(pages: &Pages, site: &str) -> Value {
    let answer = pages.get(&format!("/api/v1/sites/{site}/plans"));
    serde_json::from_slice(&answer.body).expect("JSON")
}

fn hide(workspace: &Workspace, before: &str) {
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let hidden = settings.replace(before, &format!("{before}\nsensitive = \"withhold\""));
    assert_ne!(hidden, settings);
    workspace.write("wingtide.toml", hidden);
}

fn area(home: &str) -> Option<String> {
    let (_, rest) = home.split_once("href=\"/area-")?;
    Some(format!("area-{}", rest.split('"').next()?))
}

#[test]
fn a_withheld_species_and_a_withheld_site_are_nowhere_in_a_plan() {
    let workspace = workspace("sensitive = \"withhold\"", "sensitive = \"withhold\"\n");
    // each hide waits a week, so that all three are visited
    let plan = plan(&workspace, &["--gap", "7"]);
    let pages = Pages::of(&workspace);
    nameless(&pages);
    nowhere(&pages, &for_sanderlings(&plan), "kept");
    let secret = visits(&plan).iter().filter(|v| v["site"] == "secret-hide");
    assert!(secret.count() > 0, "{plan}");
    let open = |v: &&Value| v["site"] != "secret-hide" && !for_sanderlings(&plan).contains(v);
    let calendar = pages.get("/plan.ics");
    let entries = calendar.text().matches("BEGIN:VEVENT").count();
    assert_eq!(entries, visits(&plan).iter().filter(open).count(), "{plan}");
    assert!(entries > 0, "{plan}");
}

/// A plan for the hidden species alone, and one of which nothing is told any more, have no date
/// anywhere; nor has a visit that was dropped.
#[test]
fn plans_for_what_is_hidden_alone_tell_no_date() {
    let workspace = workspace("sensitive = \"withhold\"", "");
    let hidden = plan(&workspace, &["--target", "Sanderling"]);
    let chosen: Vec<&Value> = visits(&hidden).iter().collect();
    assert!(!chosen.is_empty(), "{hidden}");
    nowhere(&Pages::of(&workspace), &chosen, "kept");
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
    nowhere(&pages, &chosen, "beside another");
    let same = ["--from", "2024-09-01", "--to", "2024-10-25"];
    keep(same, &["--target", "Sanderling", "--visits", "1"]);
    nowhere(&Pages::of(&workspace), &chosen, "dropped");
}

/// Dates that were not told of while they were to come are not told of once they are past, whatever
/// is planned for then.
#[test]
fn hidden_dates_that_are_past_stay_hidden_when_open_targets_are_planned_for() {
    let workspace = workspace("sensitive = \"withhold\"", "");
    let whole = plan(&workspace, &[]);
    let hidden = for_sanderlings(&whole);
    let open: Vec<&Value> = visits(&whole)
        .iter()
        .filter(|v| !hidden.contains(v))
        .collect();
    again(
        &workspace,
        &["--target", "Dunlin", "--target", "Little Stint"],
    );
    let pages = Pages::of(&workspace);
    nowhere(&pages, &hidden, "past");
    let told = pages.get("/plan");
    for visit in open {
        assert!(
            told.text().contains(&day(visit)),
            "{visit}: {}",
            told.text()
        );
    }
}

/// Plans anew in late October.
fn again(workspace: &Workspace, more: &[&str]) -> Value {
    let span = ["plan", "--from", "2024-09-01", "--to", "2024-10-25"];
    let kept = ["--date", "2024-10-24", "--visits", "8", "--keep", "--json"];
    workspace.run(&[&span[..], &kept, more].concat()).json()
}

/// The numbers are those of a workspace that never had the species, planned for the same dates.
#[test]
fn numbers_in_all_do_not_count_what_is_hidden() {
    let dunlin = |day: u32| (day, "Dunlin,40".to_owned());
    let sanderling = |day: u32| (day, "Sanderling,5".to_owned());
    let (same, days) = ([14, 18, 22].map(dunlin), [14, 18, 22].map(sanderling));
    let both = [&same[..], &days].concat();
    let with = reserve_with(&listed("sensitive = \"withhold\""), "", &both);
    let whole = plan(&with, &["--site", "west-hide", "--rain", "3"]);
    let pages = Pages::of(&with);
    nowhere(&pages, &for_sanderlings(&whole), "kept");
    let told = plans(&pages, "west-hide")[0].take();
    let dates: Vec<&str> = visits(&told).iter().map(|v| text(v, "date")).collect();
    assert!(
        dates.len() > 1 && dates.len() < visits(&whole).len(),
        "{told}"
    );

    let without = reserve_with("", "", &same);
    let number_of = dates.len().to_string();
    let not = others(&dates);
    let not = not.iter().flat_map(|date| ["--not", date.as_str()]);
    let more: Vec<&str> = ["--site", "west-hide", "--visits", &number_of]
        .into_iter()
        .chain(not)
        .collect();
    let never = planned(&without, &more);
    assert!(told["at_most"].is_null(), "{told}");
    alike(&told, &never, &["expected"]);
    let targets = |plan: &Value| plan["targets"].as_array().expect("targets").clone();
    assert_eq!(targets(&told).len(), 2, "{told}");
    for (told, never) in targets(&told).iter().zip(&targets(&never)) {
        assert_eq!(told["species"], never["species"]);
        alike(told, never, &["chance"]);
    }
    assert_eq!(visits(&told).len(), visits(&never).len(), "{told} {never}");
    for (told, never) in visits(&told).iter().zip(visits(&never)) {
        assert_eq!(told["date"], never["date"]);
        alike(told, never, &["lost_without"]);
        let purpose = |v: &Value| v["for"].as_array().expect("a list").clone();
        assert!(!purpose(told).is_empty(), "{told}");
        assert_eq!(purpose(told).len(), purpose(never).len());
        for (told, never) in purpose(told).iter().zip(&purpose(never)) {
            alike(told, never, &["chance", "lost"]);
        }
    }
    let said = format!(
        "{} visits to come, expected to find {:.1} of 2 targets",
        dates.len(),
        number(&never, "expected")
    );
    let page = pages.get("/west-hide/plan");
    let page = page.text().replace('\u{a0}', " ");
    assert!(page.contains(&said), "{said}: {page}");
}

/// The dates of the span that are none of these.
fn others(dates: &[&str]) -> Vec<String> {
    let first: NaiveDate = "2024-09-01".parse().expect("a date");
    let all = first.iter_days().take(55).map(|date| date.to_string());
    all.filter(|date| !dates.contains(&date.as_str())).collect()
}

/// Are these numbers the same but for rounding?
fn alike(a: &Value, b: &Value, keys: &[&str]) {
    for key in keys {
        let off = (number(a, key) - number(b, key)).abs();
        assert!(off < 1e-9, "{key} of {a} and {b}");
    }
}

/// A species, and a site, that were made sensitive after the plan was kept.
#[test]
fn what_is_kept_back_later_leaves_the_kept_plan_too() {
    let workspace = workspace("", "");
    let whole = plan(&workspace, &["--rain", "3"]);
    let pages = Pages::of(&workspace);
    assert!(pages.get("/plan").text().contains("Sanderling"));
    hide(&workspace, "id = \"secret-hide\"");
    hide(&workspace, "{ en = \"Sanderling\" }");
    assert!(pages.web.refresh());
    nameless(&pages);
    let hidden = for_sanderlings(&whole);
    nowhere(&pages, &hidden, "made sensitive later");
    let told = ["west-hide", "east-hide"].map(|site| plans(&pages, site));
    let told: Vec<&Value> = told.iter().filter_map(|plans| plans.get(0)).collect();
    assert!(!told.is_empty(), "{whole}");
    for plan in told {
        // what was worked out over all of them holds no more, and dates to go instead were chosen for all
        assert!(plan["expected"].is_null(), "{plan}");
        for visit in visits(plan) {
            assert!(visit["lost_without"].is_null(), "{visit}");
            assert!(visit["rain_date"].is_null(), "{visit}");
        }
    }
}

/// Past visits are judged by what they were for when they were planned, whatever was planned since.
#[test]
fn past_visits_for_what_is_kept_back_later_go_too() {
    for targets in [&[][..], &["--target", "Dunlin", "--target", "Little Stint"]] {
        let workspace = workspace("", "");
        let whole = plan(&workspace, &[]);
        let hidden = for_sanderlings(&whole);
        let pages = Pages::of(&workspace);
        again(&workspace, targets);
        assert!(pages.web.refresh());
        let open = pages.get("/plan");
        assert!(open.text().contains(&day(hidden[0])), "{}", open.text());
        hide(&workspace, "{ en = \"Sanderling\" }");
        assert!(pages.web.refresh());
        nowhere(&pages, &hidden, "made sensitive later");
        again(&workspace, targets);
        assert!(pages.web.refresh());
        nowhere(&pages, &hidden, "and planned anew");
    }
}

/// The command's calendar is for those who go: it says so where its dates may tell.
#[test]
fn whoever_writes_a_calendar_is_told_that_its_dates_may_tell() {
    let said = |sensitive: &str| {
        let workspace = workspace(sensitive, "");
        let span = ["plan", "--from", "2024-09-01", "--to", "2024-10-25"];
        let file = workspace.path("for-us.ics");
        let file = file.to_str().expect("a plain path");
        let more = ["--date", "2024-09-01", "--visits", "6", "--ics", file];
        let ran = workspace.run(&[&span[..], &more].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        ran.err.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let note = "is for those who go: it names nothing that is sensitive, but its dates may";
    let told = said("sensitive = \"withhold\"");
    assert!(told.contains(note), "{told}");
    let open = said("");
    assert!(!open.contains("is for those who go"), "{open}");
}
