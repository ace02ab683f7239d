//! Topic 11: what our tests hold calendars to, three readers in Python and the rules on octets, held
//! itself to calendars with known faults.

use super::case::{Case, Found, Trouble};
use harness::octets::broken_lines;
use serde_json::{Map, Value, json};
use std::path::{Path, PathBuf};
use std::process::Command;

/// What each reader says of each file, by its name.
const READERS: &str = r#"
import json, sys, icalendar, ics, vobject
def said(read):
    try:
        read()
        return "ok"
    except Exception as why:
        return str(why)
told = {}
for file in sys.argv[1:]:
    text = open(file, newline="", encoding="utf-8").read()
    parts = icalendar.Calendar.from_ical(text).walk()
    told[file] = {
        "vobject": said(lambda: vobject.readOne(text).validate(raiseException=True)),
        "ics": said(lambda: ics.Calendar(text)),
        "icalendar_missing_required": [n for p in parts for n in p.required if n not in p],
    }
print(json.dumps(told))
"#;

/// What is found of each sample, under the name that the book has for it.
pub fn samples(case: &Case) -> Found {
    let files = files(case)?;
    let told = told(&files)?;
    let mut found = Map::new();
    for (name, path) in &files {
        let mut of_file = told[path.to_string_lossy().as_ref()].clone();
        let broken = broken_lines(&std::fs::read(path)?);
        of_file["bytes_rules_ok"] = json!(broken.is_empty());
        found.insert(name.clone(), of_file);
    }
    Ok(Value::Object(found))
}

/// "samples/cal_*.ics"
fn files(case: &Case) -> Result<Vec<(String, PathBuf)>, Trouble> {
    let pattern = Path::new(case.text("samples")?);
    let name = pattern.file_name().and_then(|name| name.to_str());
    let parts = name.and_then(|name| name.split_once('*'));
    let (start, end) = parts.ok_or("a pattern with one star is expected")?;
    let folder = case.folder.join(pattern.parent().unwrap_or(Path::new("")));
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        let name = path
            .file_name()
            .and_then(|name| name.to_str())
            .unwrap_or_default();
        let own = name
            .strip_prefix(start)
            .and_then(|rest| rest.strip_suffix(end));
        if let Some(own) = own {
            files.push((own.to_owned(), path.clone()));
        }
    }
    files.sort();
    Ok(files)
}

fn told(files: &[(String, PathBuf)]) -> Found {
    let python = std::env::var("WINGTIDE_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let knows = Command::new(&python)
        .args(["-c", "import icalendar, ics, vobject"])
        .output();
    if !knows.is_ok_and(|told| told.status.success()) {
        let absent = "icalendar, ics and vobject for Python (WINGTIDE_PYTHON)";
        return Err(Trouble::Absent(absent.to_owned()));
    }
    let paths = files.iter().map(|(_, path)| path);
    let read = Command::new(&python)
        .args(["-c", READERS])
        .args(paths)
        .output()?;
    if !read.status.success() {
        return Err(Trouble::Failed(
            String::from_utf8_lossy(&read.stderr).into_owned(),
        ));
    }
    Ok(serde_json::from_slice(&read.stdout)?)
}
