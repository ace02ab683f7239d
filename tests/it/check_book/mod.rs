//! The check book: values published or computed by others, read from JSON.
//!
//! The environment variable `WINGTIDE_CHECKS` names another folder of the same layout as
//! `tests/reference/checks`. Each topic prints one line, `check_book 05c checked N skipped M`.

mod basis;
mod calendar;
mod calendars;
mod case;
mod circular;
mod compare;
mod cron_times;
mod curve_inputs;
mod curves;
mod degree_days;
mod detection;
mod distribution;
mod either_basis;
mod elastic_net;
mod endpoints;
mod expression;
mod fitted;
mod formula;
mod glm;
mod joint;
mod mails;
mod model_matrix;
mod overlap;
mod pages;
mod planning;
mod read;
mod scores;
mod standards;
mod sun;
mod table;
mod temperature;
mod topic;
mod topics;
mod updating;
mod windows;

use case::{Case, Trouble};
use compare::Judge;
use harness::places;
use serde_json::Value;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use topic::Topic;
use topics::TOPICS;

fn folder() -> PathBuf {
    let named = std::env::var_os("WINGTIDE_CHECKS").map(PathBuf::from);
    named.unwrap_or_else(|| places::reference("checks"))
}

/// JSON files of the folder with the topic's number that their names begin with.
fn files() -> Vec<(String, PathBuf)> {
    let entries = std::fs::read_dir(folder()).expect("the folder of the check book opens");
    let paths = entries.map(|e| e.expect("an entry of the folder").path());
    let number = |path: PathBuf| {
        let name = path.file_name()?.to_str()?.to_owned();
        let number = name.strip_suffix(".json")?.split('_').next()?.to_owned();
        Some((number, path))
    };
    paths.filter_map(number).collect()
}

/// How one check went.
enum Outcome {
    Agrees,
    Differs(Vec<String>),
    Skipped(String),
    NotYetWired,
}

fn outcome(topic: &Topic, case: &Case, tolerance: &Value) -> Outcome {
    let prefix = case.id.split('/').next().unwrap_or_default();
    let later = &topic.not_yet_wired;
    if later.contains(&prefix) || later.contains(&case.id) {
        return Outcome::NotYetWired;
    }
    let Some((_, answer)) = topic.wired.iter().find(|(p, _)| *p == prefix) else {
        return Outcome::Differs(vec![format!("unknown prefix {prefix}")]);
    };
    let judge = match Judge::new(topic, tolerance) {
        Ok(judge) => judge,
        Err(why) => return Outcome::Differs(vec![why]),
    };
    let answered = catch_unwind(AssertUnwindSafe(|| answer(case)));
    match answered {
        Err(_) => Outcome::Differs(vec!["panicked".into()]),
        Ok(Err(Trouble::Absent(table))) => Outcome::Skipped(table),
        Ok(Err(Trouble::Failed(why))) => Outcome::Differs(vec![why]),
        Ok(Ok(found)) => match judge.differences(case.expected, &found) {
            none if none.is_empty() => Outcome::Agrees,
            some => Outcome::Differs(some),
        },
    }
}

fn run(number: &str) {
    let topic = TOPICS.iter().find(|t| t.number == number);
    let topic = topic.expect("the topic is in the list");
    let (folder, mut checked, mut skipped, mut failures) = (folder(), 0, 0, Vec::new());
    for (_, path) in files().into_iter().filter(|(n, _)| n == number) {
        let text = std::fs::read_to_string(&path).expect("the topic's file opens");
        let book: Value = serde_json::from_str(&text).expect("the topic's file is JSON");
        let checks = book["checks"].as_array().expect("the topic has checks");
        for check in checks {
            let case = Case {
                id: check["id"].as_str().expect("a check has an id"),
                inputs: &check["inputs"],
                expected: &check["expected"],
                topic: checks,
                folder: &folder,
            };
            match outcome(topic, &case, &check["tolerance"]) {
                Outcome::NotYetWired => {}
                Outcome::Skipped(table) => {
                    skipped += 1;
                    places::skipped(&format!("{}: {table} is absent", case.id));
                }
                Outcome::Agrees => checked += 1,
                Outcome::Differs(why) => {
                    checked += 1;
                    failures.push(format!("{}\n    {}", case.id, why.join("\n    ")));
                }
            }
        }
    }
    // one piece, on a line of its own whatever other tests are printing
    let line = format!("\ncheck_book {number} checked {checked} skipped {skipped}\n");
    print!("{line}");
    assert!(
        failures.is_empty(),
        "topic {number}:\n{}",
        failures.join("\n")
    );
}

#[test]
fn every_topic_is_known() {
    let known = |number: &str| TOPICS.iter().any(|t| t.number == number);
    let unknown: Vec<String> = files()
        .into_iter()
        .map(|f| f.0)
        .filter(|n| !known(n))
        .collect();
    assert!(unknown.is_empty(), "no code answers for topics {unknown:?}");
}

macro_rules! topics {
    ($($test:ident $number:literal)*) => {
        $(#[test] fn $test() { run($number) })*

        #[test]
        fn every_topic_has_its_test() {
            let numbers: Vec<&str> = TOPICS.iter().map(|t| t.number).collect();
            assert_eq!(numbers, [$($number),*]);
        }
    };
}

topics! {
    topic_01_calendar "01"
    topic_02_degree_days "02"
    topic_03_sun "03"
    topic_04_negative_binomial "04"
    topic_05_cyclic_spline "05"
    topic_05b_windows "05b"
    topic_05c_basis "05c"
    topic_06_overlap "06"
    topic_07_scores "07"
    topic_08_endpoints "08"
    topic_09_temperature_timing "09"
    topic_10_elastic_net "10"
    topic_11_standards "11"
    topic_12_cron_and_time_zones "12"
    topic_13_detection "13"
    topic_14_circular "14"
    topic_15_real_counts "15"
    topic_16_updating_planning "16"
}
