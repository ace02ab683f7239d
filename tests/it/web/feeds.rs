//! The feed by the grammar of RFC 4287, the calendar by the rules of RFC 5545 on octets and by three
//! readers of calendars in Python, which are held to their own samples first.

use super::scene::{Pages, reserve};
use harness::octets::broken_lines;
use harness::places::{repository, skipped};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A file of the check book that stays out of this repository.
fn standard(name: &str) -> Option<PathBuf> {
    let beside = || repository().join("../shared/checks");
    let checks = std::env::var_os("WINGTIDE_CHECKS").map_or_else(beside, PathBuf::from);
    let path = checks.join("data/standards").join(name);
    path.exists().then_some(path)
}

fn xmllint(grammar: &Path, feed: &Path) -> Option<Output> {
    let mut command = Command::new("xmllint");
    let command = command.arg("--noout").arg("--nonet").arg("--relaxng");
    command.args([grammar, feed]).output().ok()
}

#[test]
fn the_feed_fits_the_grammar_of_atom() {
    let Some(grammar) = standard("rfc4287_atom.rng") else {
        return skipped("the grammar of RFC 4287 is absent (data/standards of WINGTIDE_CHECKS)");
    };
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let folder = tempfile::tempdir().expect("a folder of our own");
    let feed = pages.get("/west-hide/atom.xml");
    let (good, bad) = (
        folder.path().join("good.xml"),
        folder.path().join("bad.xml"),
    );
    std::fs::write(&good, &feed.body).expect("written");
    std::fs::write(&bad, feed.text().replacen("<updated>", "<updated>at ", 1)).expect("written");
    let Some(told) = xmllint(&grammar, &good) else {
        return skipped("xmllint is absent");
    };
    assert!(
        told.status.success(),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    let told = xmllint(&grammar, &bad).expect("it ran before");
    assert!(!told.status.success(), "a date that is none is found");
}

#[test]
fn the_feed_has_an_author_and_ids_that_stay() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let feed = pages.get("/west-hide/atom.xml");
    let text = feed.text();
    assert_eq!(
        feed.field("content-type"),
        "application/atom+xml; charset=utf-8"
    );
    assert!(
        text.contains("<author><name>A. Warden</name></author>"),
        "{text}"
    );
    assert!(!text.contains("warden@"), "no address");
    let id = "<id>tag:skerrow.example,2026:west-hide/2024-W36</id>";
    assert_eq!(text.matches(id).count(), 1, "{text}");
    assert_eq!(text.matches("<entry>").count(), 5);
    // reading the store again changes nothing
    assert_eq!(
        Pages::of(&workspace).get("/west-hide/atom.xml").body,
        feed.body
    );
}

#[test]
fn a_public_address_makes_whole_links() {
    let workspace = reserve();
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let service = "\n[service]\npublic_url = \"https://birds.skerrow.example/ness\"\n";
    workspace.write("wingtide.toml", settings + service);
    let pages = Pages::of(&workspace);
    let feed = pages.get("/west-hide/atom.xml");
    let link = "href=\"https://birds.skerrow.example/ness/west-hide\"";
    assert!(feed.text().contains(link), "{}", feed.text());
    assert!(pages.get("/").text().contains("href=\"/ness/style.css\""));
}

/// RFC 5545, 3.1 and 3.8.2.2: lines end with CR LF and have 75 octets at most; all-day events end
/// on the day after their last.
#[test]
fn the_calendar_keeps_the_rules_on_octets() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let calendar = pages.get("/west-hide/windows.ics");
    assert_eq!(
        calendar.field("content-type"),
        "text/calendar; charset=utf-8"
    );
    let text = calendar.text();
    assert!(text.ends_with("END:VCALENDAR\r\n"));
    assert_eq!(broken_lines(&calendar.body), Vec::<String>::new());
    let whole = text.replace("\r\n ", "");
    let events: Vec<&str> = whole.split("BEGIN:VEVENT").skip(1).collect();
    assert!(!events.is_empty());
    for event in events {
        let date = |key: &str| {
            let line = event.lines().find(|l| l.starts_with(key)).expect(key);
            let digits = line.rsplit(':').next().expect("a date");
            chrono::NaiveDate::parse_from_str(digits, "%Y%m%d").expect("a date")
        };
        let days = (date("DTEND;VALUE=DATE") - date("DTSTART;VALUE=DATE")).num_days();
        assert!((2..=366).contains(&days), "{days} days: {event}");
        assert!(event.contains("@skerrow.example"), "{event}");
    }
    let again = Pages::of(&workspace).get("/west-hide/windows.ics");
    assert_eq!(again.body, calendar.body);
}

const READERS: &str = r#"
import sys, icalendar, vobject, ics
text = open(sys.argv[1], newline="").read()
one = icalendar.Calendar.from_ical(text)
events = [e for e in one.walk("VEVENT")]
assert not [e.errors for e in events if e.errors]
uids = [str(e["UID"]) for e in events]
assert len(set(uids)) == len(uids), "a UID twice"
two = vobject.readOne(text)
two.validate(raiseException=True)
three = ics.Calendar(text)
assert len(events) == len(two.vevent_list) == len(three.events), "readers differ"
for e in events:
    other = next(o for o in three.events if o.uid == str(e["UID"]))
    assert str(e["SUMMARY"]) == other.name
    assert e["DTEND"].dt > e["DTSTART"].dt
print(len(events))
"#;

#[test]
fn three_readers_take_the_calendar_for_the_same() {
    let python = std::env::var("WINGTIDE_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let read = |file: &Path| {
        Command::new(&python)
            .args(["-c", READERS])
            .arg(file)
            .output()
    };
    let known = Command::new(&python)
        .args(["-c", "import icalendar, vobject, ics"])
        .output();
    if !known.is_ok_and(|told| told.status.success()) {
        return skipped("icalendar, vobject and ics for Python are absent (WINGTIDE_PYTHON)");
    }
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let calendar = pages.get("/west-hide/windows.ics");
    let folder = tempfile::tempdir().expect("a folder of our own");
    let (good, bad) = (
        folder.path().join("good.ics"),
        folder.path().join("bad.ics"),
    );
    std::fs::write(&good, &calendar.body).expect("written");
    let without_ids = calendar.text().lines().filter(|l| !l.starts_with("UID"));
    let without_ids: Vec<&str> = without_ids.collect();
    std::fs::write(&bad, without_ids.join("\r\n") + "\r\n").expect("written");
    let told = read(&good).expect("Python runs");
    assert!(
        told.status.success(),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    let events = calendar.text().matches("BEGIN:VEVENT").count();
    assert_eq!(
        String::from_utf8_lossy(&told.stdout).trim(),
        events.to_string()
    );
    assert!(
        !read(&bad).expect("Python runs").status.success(),
        "a missing UID is found"
    );
}
