//! Field sheets.

use super::{autumn, number, reserve, text, visits};
use crate::readme::demo;
use harness::places::skipped;
use notifier::handout::browser;
use serde_json::Value;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

#[test]
fn a_sheet_has_all_that_is_needed_outside() {
    let workspace = reserve("");
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let own = "name = \"Outer <Ness>\"\ncautions = \"The causeway floods & closes\"";
    workspace.write(
        "wingtide.toml",
        settings.replacen("name = \"Outer Ness\"", own, 1),
    );
    let file = workspace.path("sheets.html");
    let path = file.to_str().expect("a plain path");
    let more = [
        "--site",
        "outer-ness",
        "--visits",
        "3",
        "--rain",
        "4",
        "--sheets",
        path,
        "--json",
    ];
    let plan = autumn(&workspace, "2024-07-20", &more).json();
    let page = std::fs::read_to_string(&file).expect("the page");
    assert_eq!(page.matches("<article class=\"sheet\">").count(), 3);
    for visit in visits(&plan) {
        let day: chrono::NaiveDate = text(visit, "date").parse().expect("a date");
        let shown = day.format("%A %-d\u{a0}%B\u{a0}%Y").to_string();
        assert!(page.contains(&shown), "{shown}");
        assert!(
            page.contains(&format!("Start {}", text(visit, "sunrise"))),
            "{visit}"
        );
    }
    let likely = |v: &Value| {
        let all = v["for"].as_array().expect("a list").iter();
        all.filter(|p| number(p, "chance") >= 0.05).count()
    };
    let named = visits(&plan).iter().map(likely);
    assert_eq!(
        page.matches("<span class=\"box\">").count(),
        named.sum::<usize>()
    );
    for part in [
        "Outer &lt;Ness&gt;",
        "The causeway floods &amp; closes.",
        "enter the visit as targeted",
        "Small sandpipers of mud and sand",
        "Not to rely on",
        "Weather and tide",
        "Alone:",
        "Roads:",
        "Access:",
        "nests, roosts",
        "licensed people",
        "A forecast never identifies a bird",
    ] {
        assert!(page.contains(part), "{part}");
    }
    // what may hurt is read first, and the marks are on the back of the leaf
    let front = page.split("class=\"back\"").next().expect("a front");
    assert!(front.contains("Weather and tide") && front.contains("class=\"box\""));
    assert!(!front.contains("Not to rely on"), "{front}");
    assert!(front.find("Before you go") < front.find("class=\"box\""));
}

/// Pages of a PDF that a browser made of it, and their words; None where Poppler is absent.
fn printed(chromium: &Path, html: &str) -> Option<(usize, String)> {
    let longest = Duration::from_secs(300);
    let pdf = browser::print(chromium, html, longest).expect("a PDF");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("sheets.pdf");
    std::fs::write(&path, pdf).expect("written");
    let told = Command::new("pdfinfo").arg(&path).output().ok()?;
    let told = String::from_utf8_lossy(&told.stdout).into_owned();
    let pages = told.lines().find_map(|l| l.strip_prefix("Pages:"));
    let pages = pages.expect("a number").trim().parse().expect("a number");
    let words = Command::new("pdftotext")
        .arg(&path)
        .arg("-")
        .output()
        .ok()?;
    Some((pages, String::from_utf8_lossy(&words.stdout).into_owned()))
}

/// Front and back for each date, however much there is to say: of eight dates, of two at each site
/// in each month, and of dates at a place with more to mind than most.
#[test]
fn a_date_is_printed_on_two_sides() {
    let paths = std::env::var_os("PATH").unwrap_or_default();
    let Some(chromium) = browser::found(&paths) else {
        return skipped("no browser: chromium");
    };
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("sheets.html");
    let path = file.to_str().expect("a plain path");
    let eight = [
        "plan",
        "--from",
        "2026-12-01",
        "--to",
        "2027-04-30",
        "--weekdays",
        "sat,sun",
    ];
    let many = [
        "plan",
        "--from",
        "2027-01-01",
        "--to",
        "2027-12-31",
        "--visits",
        "40",
    ];
    for asked in [&eight[..], &many] {
        let more = [
            "--rain",
            "3",
            "--sheets",
            path,
            "--date",
            "2026-11-29",
            "--json",
        ];
        let plan = demo(&[asked, &more].concat()).json();
        let page = std::fs::read_to_string(&file).expect("the page");
        two_sides(&chromium, &page, &plan);
        // as full as can be: marks are left out where they have no room, and nowhere else
        assert!(page.contains("No room here for") || visits(&plan).len() < 20);
    }
    let workspace = reserve("");
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let own = format!(
        "name = \"Outer Ness\"\ncautions = \"{}\"",
        "Mind the sand. ".repeat(60)
    );
    let settings = settings.replacen("name = \"Outer Ness\"", &own, 1);
    workspace.write("wingtide.toml", settings);
    let more = [
        "--site",
        "outer-ness",
        "--visits",
        "3",
        "--sheets",
        path,
        "--json",
    ];
    let plan = autumn(&workspace, "2024-07-20", &more).json();
    let page = std::fs::read_to_string(&file).expect("the page");
    two_sides(&chromium, &page, &plan);
}

fn two_sides(chromium: &Path, page: &str, plan: &Value) {
    let dates = visits(plan).len();
    let Some((pages, words)) = printed(chromium, page) else {
        return skipped("Poppler's pdfinfo and pdftotext are absent");
    };
    assert_eq!(pages, 2 * dates);
    let foot = "A forecast never identifies a bird";
    let whole = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(
        whole.matches(foot).count(),
        dates,
        "each leaf ends as it should"
    );
    // with sides as high as their words make them, nothing is cut off and none goes on
    let free = page.replace("height: 273mm; overflow: hidden; ", "");
    assert_ne!(free, page, "the style sheet has another height");
    let (pages, _) = printed(chromium, &free).expect("Poppler, as before");
    assert_eq!(pages, 2 * dates, "words are cut off");
    for letters in page
        .split("size-")
        .skip(1)
        .filter_map(|s| s.split('"').next())
    {
        let tenths: Option<u32> = letters.parse().ok();
        assert!(tenths.is_none_or(|t| t >= 90), "{letters}");
    }
}
