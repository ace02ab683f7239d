//! What a store says, as people see it from outside.

use crate::program::{Place, Program, walk};
use serde_json::Value;
use std::collections::BTreeMap;

/// Its batches, and all that it passes on.
#[derive(Debug, PartialEq)]
pub struct State {
    batches: Value,
    passed_on: BTreeMap<String, String>,
}

/// What is told of a store that nothing was loaded into.
const NOTHING: &str = "nothing is loaded yet";

impl State {
    /// Of a store, which must open.
    pub fn of(program: &Program, place: &Place) -> Self {
        let listed = program.run(place, &["batches", "--json"]);
        if listed.err.contains(NOTHING) {
            return State {
                batches: Value::Null,
                passed_on: BTreeMap::new(),
            };
        }
        assert!(listed.worked, "the store does not open: {}", listed.err);
        let mut batches: Value = serde_json::from_str(&listed.out).expect("JSON");
        // bytes of the ledger, which grows by pages
        batches.as_object_mut().expect("an object").remove("disk");
        for batch in batches["batches"].as_array_mut().expect("a list") {
            batch
                .as_object_mut()
                .expect("an object")
                .remove("loaded_at");
        }
        State {
            batches,
            passed_on: passed_on(program, place),
        }
    }

    /// Number of the batch in use of a source.
    pub fn in_use(&self, source: &str) -> i64 {
        let batches = self.batches["batches"].as_array().expect("a list");
        let current = |b: &&Value| b["source"] == source && b["state"] == "current";
        let found = batches.iter().find(current).expect("a batch in use");
        found["batch"].as_i64().expect("a number")
    }
}

fn passed_on(program: &Program, place: &Place) -> BTreeMap<String, String> {
    let out = tempfile::tempdir().expect("a folder of our own");
    let path = out.path().to_str().expect("a plain path");
    let ran = program.run(place, &["export", "--format", "csv", "--out", path]);
    assert!(ran.worked, "the store cannot be read: {}", ran.err);
    let mut files = BTreeMap::new();
    walk(out.path(), &mut |file| {
        let name = file.file_name().expect("a name").to_string_lossy();
        let text = std::fs::read_to_string(file).expect("text");
        files.insert(name.into_owned(), text);
    });
    files
}
