//! Files as people really have them: each folder of `tests/fixtures/dirty` holds one mess, what the
//! program says of it, and the rows that it makes of it.

mod case;
mod difference;
mod workbooks;

use case::{Case, Outcome};
use harness::places::repository;
use ingest::confined::{self, Program};
use rayon::prelude::*;
use std::path::PathBuf;
use std::process::ExitCode;

/// Set, it has the expectations written anew.
const REWRITE: &str = "WINGTIDE_REWRITE_DIRTY";

/// Fewest cases that the folder must hold, so that none is lost unseen.
const FEWEST: usize = 120;

fn folder() -> PathBuf {
    repository().join("tests/fixtures/dirty")
}

/// Workbooks are read by a process of its own: this very test binary, started for one test.
fn with_a_reading_process() {
    let args = ["--exact", "dirty::the_reading_process", "--nocapture"];
    confined::register(Program {
        program: std::env::current_exe().expect("a test binary"),
        args: args.iter().map(Into::into).collect(),
    });
}

#[test]
fn the_reading_process() {
    if let Some(folder) = std::env::var_os(confined::FOLDER) {
        assert_eq!(confined::serve(folder.as_ref()), ExitCode::SUCCESS);
    }
}

fn cases() -> Vec<Case> {
    let entries = std::fs::read_dir(folder()).expect("the folder of dirty files");
    let paths = entries.map(|e| e.expect("an entry").path());
    let mut cases: Vec<Case> = paths.filter(|p| p.is_dir()).map(Case::new).collect();
    cases.sort_by(|a, b| a.name.cmp(&b.name));
    cases
}

#[test]
fn every_dirty_file_is_told_as_expected() {
    with_a_reading_process();
    if std::env::var_os(REWRITE).is_some() {
        workbooks::write_missing(&folder());
        cases().par_iter().for_each(|c| c.expect(&c.run()));
    }
    let cases = cases();
    assert!(cases.len() >= FEWEST, "only {} cases", cases.len());
    let wrong: Vec<String> = cases.par_iter().filter_map(wrong).collect();
    assert!(
        wrong.is_empty(),
        "{} of {} cases, see tests/fixtures/dirty/README.md:\n{}",
        wrong.len(),
        cases.len(),
        wrong.join("\n")
    );
}

/// What differs from the expectation, if anything does.
fn wrong(case: &Case) -> Option<String> {
    let (found, expected) = (case.run(), case.expected());
    let mut files: Vec<&String> = found.keys().chain(expected.keys()).collect();
    files.sort();
    files.dedup();
    let text = |outcome: &Outcome, file: &String| outcome.get(file).cloned().unwrap_or_default();
    let differ = |file: &&String| found.get(*file) != expected.get(*file);
    let told = files.into_iter().filter(differ).map(|file| {
        let lines = difference::of(&text(&expected, file), &text(&found, file));
        format!("{}/expected/{file}:\n{lines}", case.name)
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| told.join("\n"))
}

/// Nobody can read in a workbook's bytes what it holds: those made anew from the code below give
/// what the committed ones give.
#[test]
fn workbooks_made_anew_are_told_alike() {
    with_a_reading_process();
    for made in workbooks::all() {
        let case = Case::new(folder().join(made.case));
        let anew = case.run_with(made.file, &made.bytes);
        assert_eq!(anew, case.expected(), "{}", made.case);
    }
}
