//! A calendar as three readers in Python see it.

use harness::places;
use serde_json::Value;
use std::path::Path;
use std::process::Command;

/// Its entries in order, by icalendar, vobject and ics; None where these are absent.
pub fn three(calendar: &Path) -> Option<[Vec<Value>; 3]> {
    let python = std::env::var("WINGTIDE_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let knows = Command::new(&python)
        .args(["-c", "import ics, icalendar, vobject"])
        .output();
    if !knows.is_ok_and(|o| o.status.success()) {
        return None;
    }
    let script = places::repository().join("tests/it/plan/parsers.py");
    let ran = Command::new(&python).arg(script).arg(calendar).output();
    let ran = ran.expect("Python runs");
    let said = String::from_utf8_lossy(&ran.stderr);
    assert!(ran.status.success(), "{said}");
    let seen: Value = serde_json::from_slice(&ran.stdout).expect("JSON");
    Some(["icalendar", "vobject", "ics"].map(|name| {
        let mut rows = seen[name].as_array().expect("entries").clone();
        rows.sort_by_key(Value::to_string);
        rows
    }))
}
