//! The kept plan in the service: its pages, its field sheets and what programs get say what the
//! command said.

use super::{number, text, visits};
use crate::web::scene::{Pages, reserve};
use axum::http::StatusCode;
use chrono::NaiveDate;
use harness::program::Workspace;
use serde_json::Value;

/// Plans at both hides on 1 September, three days before the pages' own day.
pub fn plan(workspace: &Workspace, more: &[&str]) -> Value {
    let span = ["plan", "--from", "2024-09-01", "--to", "2024-10-10"];
    let kept = ["--date", "2024-09-01", "--keep", "--json"];
    workspace.run(&[&span[..], &kept, more].concat()).json()
}

/// "Wednesday 4 September 2024"
pub fn day(visit: &Value) -> String {
    let date: NaiveDate = text(visit, "date").parse().expect("a date");
    date.format("%A %-d\u{a0}%B\u{a0}%Y").to_string()
}

/// What a page says of a visit, up to the next.
fn told<'p>(page: &'p str, visit: &Value) -> &'p str {
    let id = format!("id=\"{}-{}\"", text(visit, "site"), text(visit, "date"));
    let (_, rest) = page
        .split_once(&id)
        .unwrap_or_else(|| panic!("{id}: {page}"));
    rest.split("</section>").next().expect("its end")
}

/// A number of the page's table, as the page has it.
fn alone(lost: f64) -> String {
    match 100.0 * lost < 0.5 {
        true => "<td>under\u{a0}1\u{a0}%</td>".to_owned(),
        false => format!("<td>{:.0}\u{a0}%</td>", 100.0 * lost),
    }
}

#[test]
fn the_page_tells_of_each_date_what_the_command_told() {
    let workspace = reserve();
    let plan = plan(&workspace, &["--visits", "6", "--rain", "3"]);
    let pages = Pages::of(&workspace);
    let all = pages.get("/plan");
    assert_eq!(all.code, StatusCode::OK);
    let today: NaiveDate = "2024-09-04".parse().expect("a date");
    let mut to_come = 0;
    for visit in visits(&plan) {
        let of_site = pages.get(&format!("/{}/plan", text(visit, "site")));
        for page in [all.text(), of_site.text()] {
            assert!(page.contains(&day(visit)), "{visit}: {page}");
        }
        let date: NaiveDate = text(visit, "date").parse().expect("a date");
        if date < today {
            continue;
        }
        to_come += 1;
        let told = told(all.text(), visit);
        assert!(
            told.contains(&format!("Sunrise {}", text(visit, "sunrise"))),
            "{told}"
        );
        for purpose in visit["for"].as_array().expect("a list") {
            let name = match text(purpose, "species") {
                "Calidris minuta" => "Little Stint",
                _ => "Dunlin",
            };
            assert!(told.contains(&format!(">{name}</a>")), "{told}");
            let chance = notifier::words::chance(number(purpose, "chance"));
            assert!(
                told.contains(&format!("<td>{chance}</td>")),
                "{chance}: {told}"
            );
            let alone = alone(number(purpose, "lost"));
            assert!(told.contains(&alone), "{alone}: {told}");
        }
        let lost = number(visit, "lost_without");
        let without = match lost < 0.05 {
            true => "next to nothing is lost".to_owned(),
            false => format!("Without it {lost:.1} targets fewer"),
        };
        assert!(told.contains(&without), "{without}: {told}");
        if let Some(rain) = visit["rain_date"].as_str() {
            let rain: NaiveDate = rain.parse().expect("a date");
            let rain = rain.format("If it rains: %A %-d\u{a0}%B").to_string();
            assert!(told.contains(&rain), "{rain}: {told}");
        }
    }
    assert!(to_come > 2, "{plan}");
    let expected = format!("expected to find {:.1} of 2", number(&plan, "expected"));
    assert!(all.text().contains(&expected), "{expected}: {}", all.text());
    assert!(all.text().contains("No choice within the rules"));
    // the dates come first, then a link to the cautions, which stand in full below them
    let page = all.text();
    let (dates, rest) = page.split_once("href=\"#before-you-go\"").expect("a link");
    let (_, dates) = dates.split_once("<ol class=\"dates\">").expect("dates");
    assert_eq!(dates.matches("<li>").count(), to_come, "{dates}");
    let (_, cautions) = rest.split_once("id=\"before-you-go\"").expect("cautions");
    for part in [
        "Weather and tide",
        "Alone:",
        "Roads:",
        "Access:",
        "nests, roosts",
        "licensed",
    ] {
        assert!(cautions.contains(part), "{part}");
        assert!(!dates.contains(part), "{part}");
    }
    // in the picture each date has its day below its line, which stops short of the names
    for visit in visits(&plan) {
        let date = date_of(visit);
        let day = date.format(">%-d</text>").to_string();
        assert!(page.contains(&day), "{day}: {page}");
    }
    let shaded = "at the site where it is largest that day";
    assert!(page.contains(shaded), "{page}");
    assert!(!pages.get("/west-hide/plan").text().contains(shaded));
}

fn date_of(visit: &Value) -> NaiveDate {
    text(visit, "date").parse().expect("a date")
}

#[test]
fn programs_get_the_commands_own_document() {
    let workspace = reserve();
    let mut plan = plan(&workspace, &["--visits", "6", "--rain", "3"]);
    // what is not planned for is told to whoever plans alone
    let untold = plan.as_object_mut().and_then(|p| p.remove("untold"));
    assert_eq!(untold, Some(Value::Array(Vec::new())));
    let pages = Pages::of(&workspace);
    let got = |site: &str| -> Value {
        let answer = pages.get(&format!("/api/v1/sites/{site}/plans"));
        serde_json::from_slice(&answer.body).expect("JSON")
    };
    let site = text(&visits(&plan)[0], "site");
    let (got, plan) = (got(site), Value::Array(vec![plan]));
    assert!(alike(&got, &plan), "{got} {plan}");
    let mut other = plan.clone();
    other[0]["visits"][0]["for"][0]["chance"] = Value::from(0.123);
    assert!(!alike(&got, &other), "a difference is seen");
}

/// The same but for the last digit of a number, which a file that is read again may change.
fn alike(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().expect("a number"), b.as_f64().expect("a number"));
            (a - b).abs() <= 1e-12 * (1.0 + b.abs())
        }
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(a, b))
        }
        (Value::Object(a), Value::Object(b)) => {
            let mut pairs = a.iter().zip(b);
            a.len() == b.len() && pairs.all(|(a, b)| a.0 == b.0 && alike(a.1, b.1))
        }
        _ => a == b,
    }
}

#[test]
fn where_no_plan_is_kept_the_page_says_so_and_nothing_links_to_it() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let page = pages.get("/west-hide/plan");
    assert_eq!(page.code, StatusCode::OK);
    for part in [
        "No plan is kept for West Hide",
        "wingtide plan --from DATE --to DATE --keep",
    ] {
        assert!(page.text().contains(part), "{}", page.text());
    }
    assert!(!pages.get("/west-hide").text().contains("/west-hide/plan"));
    assert_eq!(
        pages.get("/west-hide/plan/sheets").code,
        StatusCode::NOT_FOUND
    );
    assert_eq!(pages.get("/north-hide/plan").code, StatusCode::NOT_FOUND);
    let empty = pages.get("/api/v1/sites/west-hide/plans");
    assert_eq!(empty.text().trim(), "[]");
}

/// Pages are read anew when a plan is kept, though the store stays as it was.
#[test]
fn a_plan_kept_meanwhile_is_shown_and_linked() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    plan(&workspace, &["--visits", "6", "--site", "west-hide"]);
    assert!(pages.web.refresh(), "the kept plan is new");
    assert!(
        pages
            .get("/west-hide")
            .text()
            .contains("href=\"/west-hide/plan\"")
    );
    assert!(!pages.get("/east-hide").text().contains("/east-hide/plan"));
    assert!(pages.get("/").text().contains("href=\"/plan\""));
    assert!(
        pages
            .get("/west-hide/plan")
            .text()
            .contains("href=\"/west-hide/plan.ics\"")
    );
    workspace.write("wingtide-store/plan.json", "{");
    assert!(pages.web.refresh());
    let page = pages.get("/west-hide/plan");
    assert!(page.text().contains("cannot be read"), "{}", page.text());
    let calendar = pages.get("/west-hide/plan.ics");
    assert_eq!(
        calendar.code,
        StatusCode::SERVICE_UNAVAILABLE,
        "nobody loses their dates"
    );
    assert_eq!(pages.get("/west-hide").code, StatusCode::OK);
}

#[test]
fn field_sheets_have_a_leaf_for_each_date_to_come() {
    let workspace = reserve();
    let plan = plan(&workspace, &["--visits", "6", "--site", "west-hide"]);
    let pages = Pages::of(&workspace);
    let sheets = pages.get("/west-hide/plan/sheets");
    let to_come: Vec<&Value> = visits(&plan)
        .iter()
        .filter(|v| text(v, "date") >= "2024-09-04")
        .collect();
    let leaves = sheets.text().matches("<article class=\"sheet\">").count();
    assert_eq!(leaves, to_come.len());
    for visit in to_come {
        assert!(sheets.text().contains(&day(visit)), "{visit}");
    }
    let text = sheets.text();
    assert!(
        !text.contains("style=") && !text.contains("<style"),
        "{text}"
    );
    assert!(
        text.contains("A. Warden") && !text.contains("warden@"),
        "{text}"
    );
    assert_eq!(pages.get("/sheets.css").code, StatusCode::OK);
}

/// What a second plan leaves of the first has its dates, and nothing that no longer holds.
#[test]
fn of_a_plan_whose_visits_were_partly_planned_anew_only_the_rest_is_told() {
    let workspace = reserve();
    // a site has to wait, so that the other is visited too
    let first = plan(&workspace, &["--visits", "6", "--gap", "7"]);
    let site = text(&visits(&first)[0], "site");
    let other = if site == "west-hide" {
        "east-hide"
    } else {
        "west-hide"
    };
    let left: Vec<&Value> = visits(&first)
        .iter()
        .filter(|v| v["site"] != site)
        .collect();
    assert!(!left.is_empty(), "both hides are visited: {first}");
    plan(&workspace, &["--visits", "2", "--site", site]);
    let pages = Pages::of(&workspace);
    let page = pages.get(&format!("/{other}/plan"));
    let said = "These are visits of that plan, not the whole of it";
    assert!(page.text().contains(said), "{}", page.text());
    assert!(!page.text().contains("by this visit alone"));
    let answer = pages.get(&format!("/api/v1/sites/{other}/plans"));
    let plans: Value = serde_json::from_slice(&answer.body).expect("JSON");
    let old = &plans[0];
    assert_eq!(visits(old).len(), left.len());
    assert!(
        old["expected"].is_null() && old["at_most"].is_null(),
        "{old}"
    );
    assert!(visits(old).iter().all(|v| v["lost_without"].is_null()));
}

#[test]
fn a_folder_of_pages_has_the_plan_too() {
    let workspace = reserve();
    let out = workspace.path("site");
    let write = || workspace.run(&["pages", "--out", out.to_str().expect("a path")]);
    write().works();
    assert!(!out.join("plan.html").exists());
    let span = ["plan", "--from", "2090-09-01", "--to", "2090-10-10"];
    let one = ["--visits", "3", "--site", "west-hide", "--keep"];
    workspace.run(&[&span[..], &one].concat()).works();
    write().works();
    let read = |name: &str| std::fs::read_to_string(out.join(name)).expect(name);
    assert!(read("index.html").contains("href=\"plan.html\""));
    assert!(read("west-hide/plan.html").contains("href=\"../west-hide/plan.ics\""));
    assert!(read("west-hide/plan.ics").starts_with("BEGIN:VCALENDAR"));
    assert_eq!(
        read("west-hide/sheets.html")
            .matches("<article class=\"sheet\">")
            .count(),
        3
    );
    assert!(read("plan.ics").contains("BEGIN:VEVENT") && out.join("sheets.css").exists());
    assert!(!out.join("east-hide/plan.html").exists());
}
