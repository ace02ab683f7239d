//! The rules of the house: who may know whom, and what stays pure.

use harness::places::repository as root;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// What `forecast` may use: mathematics, dates and plain data.
const PURE: [&str; 12] = [
    "chrono",
    "linfa",
    "linfa-elasticnet",
    "nalgebra",
    "ndarray",
    "rand",
    "rand_distr",
    "rand_pcg",
    "serde",
    "solar-positioning",
    "statrs",
    "thiserror",
];

/// What reaches outside the arguments.
const IMPURE: [&str; 12] = [
    "std::fs",
    "std::net",
    "std::env",
    "std::process",
    "SystemTime",
    "Instant::now",
    "Utc::now",
    "Local::now",
    "rand::rng(",
    "thread_rng",
    "println!",
    "static mut",
];

fn manifest(package: &str) -> toml::Table {
    let text = fs::read_to_string(root().join(package).join("Cargo.toml")).unwrap();
    text.parse().unwrap()
}

fn dependencies(package: &str) -> BTreeSet<String> {
    let manifest = manifest(package);
    let table = manifest.get("dependencies").and_then(toml::Value::as_table);
    table
        .map(|t| t.keys().cloned().collect())
        .unwrap_or_default()
}

fn rust_files(dir: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            rust_files(&path, files);
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
}

#[test]
fn forecast_depends_on_nothing_that_reaches_outside() {
    let allowed: BTreeSet<String> = PURE.iter().map(|s| s.to_string()).collect();
    let more: Vec<_> = dependencies("forecast")
        .difference(&allowed)
        .cloned()
        .collect();
    assert!(more.is_empty(), "forecast depends on {more:?}");
    let chrono = &manifest("forecast")["dependencies"]["chrono"];
    assert_eq!(
        chrono["default-features"].as_bool(),
        Some(false),
        "chrono's clock stays off"
    );
}

#[test]
fn forecast_looks_at_nothing_but_its_arguments() {
    let mut files = Vec::new();
    rust_files(&root().join("forecast/src"), &mut files);
    assert!(files.len() > 20);
    for file in files {
        let text = fs::read_to_string(&file).unwrap();
        for word in IMPURE {
            assert!(!text.contains(word), "{} has {word}", file.display());
        }
    }
}

#[test]
fn each_crate_knows_only_those_below_it() {
    let ours = ["config", "forecast", "ingest", "notifier"];
    let below: [(&str, &[&str]); 4] = [
        ("forecast", &[]),
        ("config", &["forecast"]),
        ("ingest", &["config", "forecast"]),
        ("notifier", &["config", "forecast", "ingest"]),
    ];
    for (package, allowed) in below {
        for known in dependencies(package)
            .iter()
            .filter(|d| ours.contains(&d.as_str()))
        {
            assert!(
                allowed.contains(&known.as_str()),
                "{package} depends on {known}"
            );
        }
    }
}

#[test]
fn the_top_level_holds_what_it_should() {
    let required = [
        "Cargo.toml",
        "README.md",
        "DEVELOPERS.md",
        "forecast",
        "ingest",
        "notifier",
        "config",
        "tests",
        "LICENSE",
        "Cargo.lock",
        ".ci",
        ".gitignore",
    ];
    for name in required {
        assert!(root().join(name).exists(), "{name} is missing");
    }
    // what a build, a demo or git leaves behind is no part of the house
    let passing = ["target", ".git", "skerrow-ness"];
    for entry in fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(
            required.contains(&name.as_str()) || passing.contains(&name.as_str()),
            "{name} at the top level"
        );
    }
}
