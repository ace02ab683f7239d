//! What the fuzzers kept, read again: nothing of it may panic, or lose a row.

use harness::places::repository;
use std::path::PathBuf;
use written::Reader;

#[path = "../fuzz/readers/counted.rs"]
mod counted;
#[path = "../fuzz/readers/written.rs"]
mod written;

/// Tells which input was being read where reading it panics.
struct Telling(PathBuf);

impl Drop for Telling {
    fn drop(&mut self) {
        if std::thread::panicking() {
            eprintln!("while reading {}", self.0.display());
        }
    }
}

fn again((name, read): Reader) {
    let folder = repository().join("tests/fuzz/corpus").join(name);
    let entries = std::fs::read_dir(&folder).expect("each reader has its corpus");
    let mut files: Vec<PathBuf> = entries.map(|e| e.expect("an entry").path()).collect();
    assert!(!files.is_empty(), "the corpus of {name} is empty");
    files.sort();
    for file in files {
        let bytes = std::fs::read(&file).expect("an input can be read");
        let _telling = Telling(file);
        read(&bytes);
    }
}

#[test]
fn what_people_wrote_down() {
    written::WRITTEN.into_iter().for_each(again);
}

#[test]
fn what_people_counted() {
    counted::COUNTED.into_iter().for_each(again);
}
