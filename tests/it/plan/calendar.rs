//! The kept plan as a calendar: entries keep their UID when they move, count on, and are
//! cancelled when they are dropped. Rules: RFC 5545, sections 3.1 (lines), 3.6.1 and 3.8.7
//! (DTSTAMP, UID, SEQUENCE), 3.8.1.11 (STATUS).

use super::readers::three;
use super::{autumn, reserve};
use harness::octets::broken_lines;
use harness::places;
use harness::program::Workspace;
use std::collections::BTreeMap;

const CAUTIONS: &str = "Tides run fast; keep off the spit (ask the warden, über Funk) \
    after half flood, and never cross alone: 霧 comes quickly here.";

/// The reserve with words that need folding, escaping and more than one byte a letter.
fn workspace() -> Workspace {
    let workspace = reserve("");
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let named = settings.replacen(
        "name = \"Long Bank\"",
        &format!("name = \"Long Bank, øst; \\\\ south\"\ncautions = \"{CAUTIONS}\""),
        1,
    );
    workspace.write("wingtide.toml", named);
    workspace
}

fn calendar(workspace: &Workspace, date: &str, more: &[&str]) -> String {
    let file = workspace.path("plan.ics");
    let path = file.to_str().expect("a plain path");
    let one = ["--site", "long-bank", "--ics", path, "--json"];
    autumn(workspace, date, &[&one[..], more].concat()).works();
    std::fs::read_to_string(&file).expect("the calendar")
}

/// Lines put together again, as name and value, by entry.
pub fn entries(text: &str) -> Vec<BTreeMap<String, String>> {
    let whole = text.replace("\r\n ", "");
    let mut all = Vec::new();
    for line in whole.split("\r\n") {
        if line == "BEGIN:VEVENT" {
            all.push(BTreeMap::new());
        } else if let (Some(entry), Some((name, value))) = (all.last_mut(), line.split_once(':')) {
            entry.insert(name.to_owned(), value.to_owned());
        }
    }
    all
}

#[test]
fn lines_are_short_and_end_as_they_should() {
    let text = calendar(&workspace(), "2024-07-20", &["--visits", "5"]);
    assert!(text.starts_with("BEGIN:VCALENDAR\r\n") && text.ends_with("END:VCALENDAR\r\n"));
    assert_eq!(broken_lines(text.as_bytes()), Vec::<String>::new());
    assert!(
        text.split("\r\n").any(|l| l.starts_with(' ')),
        "nothing was folded"
    );
    for entry in entries(&text) {
        for name in [
            "UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "SUMMARY", "STATUS",
        ] {
            assert!(entry.contains_key(name), "{name}: {entry:?}");
        }
        assert!(!text.contains("GEO"), "places are not given away");
    }
}

#[test]
fn entries_stay_move_and_are_cancelled_under_their_own_names() {
    let workspace = workspace();
    let first = calendar(&workspace, "2024-07-20", &["--visits", "5"]);
    let again = calendar(&workspace, "2024-07-20", &["--visits", "5"]);
    assert_eq!(first, again, "an unchanged plan is an unchanged calendar");
    let before = entries(&first);
    assert_eq!(before.len(), 5);
    let out = &before[2]["DTSTART"];
    let day = format!("{}-{}-{}", &out[..4], &out[4..6], &out[6..8]);
    let moved = entries(&calendar(
        &workspace,
        "2024-07-20",
        &["--visits", "5", "--not", &day],
    ));
    let uids = |all: &[BTreeMap<String, String>]| {
        let mut uids: Vec<String> = all.iter().map(|e| e["UID"].clone()).collect();
        uids.sort();
        uids
    };
    assert_eq!(uids(&before), uids(&moved), "nothing was dropped");
    let of = |uid: &str| moved.iter().find(|e| e["UID"] == uid).expect("the entry");
    for entry in &before {
        let now = of(&entry["UID"]);
        let sequence: u32 = now["SEQUENCE"].parse().expect("a number");
        let moved = entry["DTSTART"] != now["DTSTART"];
        assert_eq!(sequence > 0, moved, "{entry:?} {now:?}");
    }
    assert_ne!(of(&before[2]["UID"])["DTSTART"], *out);
    let fewer = entries(&calendar(
        &workspace,
        "2024-07-20",
        &["--visits", "3", "--not", &day],
    ));
    assert_eq!(uids(&fewer), uids(&before));
    let cancelled: Vec<_> = fewer
        .iter()
        .filter(|e| e["STATUS"] == "CANCELLED")
        .collect();
    assert_eq!(cancelled.len(), 2);
    assert!(
        cancelled.iter().all(|e| e["SEQUENCE"] != "0"),
        "{cancelled:?}"
    );
}

#[test]
fn three_readers_of_calendars_see_the_same() {
    let workspace = workspace();
    calendar(&workspace, "2024-07-20", &["--visits", "5"]);
    let text = calendar(&workspace, "2024-07-20", &["--visits", "4"]);
    let Some([rows, second, third]) = three(&workspace.path("plan.ics")) else {
        return places::skipped("readers of calendars are absent (WINGTIDE_PYTHON names a Python)");
    };
    assert_eq!(rows.len(), entries(&text).len());
    assert_eq!(rows, second);
    assert_eq!(rows, third);
    let words = rows.iter().filter_map(|r| r[6].as_str());
    assert!(words.clone().any(|w| w.contains(CAUTIONS)), "{rows:?}");
    assert!(
        rows.iter()
            .any(|r| r[5] == "Visit to Long Bank, øst; \\ south"),
        "{rows:?}"
    );
    assert!(rows.iter().any(|r| r[2] == "CANCELLED"), "{rows:?}");
}

#[test]
fn a_kept_plan_that_does_not_read_is_left_alone() {
    let workspace = workspace();
    calendar(&workspace, "2024-07-20", &["--visits", "2"]);
    let kept = workspace.path("wingtide-store/plan.json");
    for (text, said) in [
        ("{", "cannot be read"),
        ("{\"version\": 9, \"entries\": []}", "version 9"),
    ] {
        std::fs::write(&kept, text).expect("a file");
        let failed = autumn(&workspace, "2024-07-20", &["--keep"]).fails();
        assert!(failed.contains(said), "{failed}");
        assert_eq!(std::fs::read_to_string(&kept).expect("still there"), text);
    }
}

/// Whoever follows a calendar may be anybody.
#[test]
fn sensitive_sites_and_species_have_no_name_in_it() {
    let workspace = workspace();
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let kept_back = settings
        .replace("cautions = ", "sensitive = \"withhold\"\ncautions = ")
        .replace(
            "scientific = \"Calidris minuta\"",
            "scientific = \"Calidris minuta\"\nsensitive = \"withhold\"",
        );
    workspace.write("wingtide.toml", kept_back);
    let text = calendar(&workspace, "2024-07-20", &["--visits", "5"]);
    let all = entries(&text);
    assert_eq!(all.len(), 5, "{text}");
    let whole = text.replace("\r\n ", "").to_lowercase();
    for secret in ["long bank", "spit", "minuta", "little stint"] {
        assert!(!whole.contains(secret), "{secret} in {whole}");
    }
    // a start at sunrise would tell where the site lies
    let whole_days = text.matches("DTSTART;VALUE=DATE:").count();
    assert_eq!(whole_days, 5, "{text}");
}
