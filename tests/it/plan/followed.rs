//! The kept plan as a calendar that people follow at the service.

use super::calendar::entries;
use super::readers::three;
use super::served::plan;
use crate::web::scene::{Pages, reserve};
use harness::octets::broken_lines;
use harness::places::skipped;
use std::collections::BTreeMap;

/// RFC 5545, 3.8.4.7 and 3.8.7.4: the UID stays, the SEQUENCE rises with each change that matters.
#[test]
fn an_entry_keeps_its_name_when_it_moves_and_is_cancelled_when_it_is_dropped() {
    let workspace = reserve();
    plan(&workspace, &["--visits", "4", "--site", "west-hide"]);
    let pages = Pages::of(&workspace);
    let get = || pages.get("/west-hide/plan.ics");
    let first = get();
    assert_eq!(first.field("content-type"), "text/calendar; charset=utf-8");
    let before = entries(first.text());
    assert_eq!(before.len(), 4);
    let out = &before[1]["DTSTART"];
    let day = format!("{}-{}-{}", &out[..4], &out[4..6], &out[6..8]);
    plan(
        &workspace,
        &["--visits", "3", "--site", "west-hide", "--not", &day],
    );
    assert!(pages.web.refresh());
    let second = get();
    assert_ne!(first.field("etag"), second.field("etag"));
    assert_eq!(broken_lines(&second.body), Vec::<String>::new());
    let after = entries(second.text());
    let names = |all: &[BTreeMap<String, String>]| {
        let mut names: Vec<String> = all.iter().map(|e| e["UID"].clone()).collect();
        names.sort();
        names
    };
    assert_eq!(names(&before), names(&after));
    let mut changed = 0;
    for was in &before {
        let is = after.iter().find(|e| e["UID"] == was["UID"]).expect("it");
        let rose = is["SEQUENCE"].parse::<u32>().expect("a number") > 0;
        let differs = is["DTSTART"] != was["DTSTART"] || is["STATUS"] == "CANCELLED";
        assert_eq!(rose, differs, "{was:?} {is:?}");
        changed += usize::from(differs);
    }
    assert!(changed > 0, "{after:?}");
    let cancelled = after.iter().filter(|e| e["STATUS"] == "CANCELLED");
    assert_eq!(cancelled.count(), 1, "{after:?}");
    let again = pages.ask(
        "/west-hide/plan.ics",
        &[("if-none-match", second.field("etag"))],
    );
    assert_eq!(again.code.as_u16(), 304);
}

#[test]
fn the_followed_calendar_is_that_of_the_command() {
    let workspace = reserve();
    let file = workspace.path("plan.ics");
    let path = file.to_str().expect("a plain path");
    plan(&workspace, &["--visits", "5", "--ics", path]);
    let pages = Pages::of(&workspace);
    let served = pages.get("/plan.ics");
    assert_eq!(
        served.text(),
        std::fs::read_to_string(&file).expect("a file")
    );
    let of = |site: &str| entries(pages.get(&format!("/{site}/plan.ics")).text()).len();
    assert_eq!(of("west-hide") + of("east-hide"), 5);
}

#[test]
fn three_readers_see_the_followed_calendar_alike() {
    let workspace = reserve();
    plan(&workspace, &["--visits", "5"]);
    plan(&workspace, &["--visits", "4"]);
    let pages = Pages::of(&workspace);
    let calendar = pages.get("/plan.ics");
    let path = workspace.path("followed.ics");
    std::fs::write(&path, &calendar.body).expect("written");
    let Some([first, second, third]) = three(&path) else {
        return skipped("readers of calendars are absent (WINGTIDE_PYTHON names a Python)");
    };
    assert_eq!(first.len(), entries(calendar.text()).len());
    assert_eq!(first, second);
    assert_eq!(first, third);
    assert!(first.iter().any(|r| r[2] == "CANCELLED"), "{first:?}");
}
