//! What did not change is not read again: files that look as they did, and batches.

use crate::workspace::*;
use config::settings::SourceKind;
use rusqlite::Connection;
use std::fs::File;
use std::path::Path;
use std::time::{Duration, SystemTime};

const COUNTS: &str = "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n\
    2025-05-01,Tern Lagoon,Common Tern,12\n2025-05-02,Long Bank,Dunlin,4\n\
    2025-05-02,Tern Lagoon,Dunlin?,1\n2025-05-03,Long Bank,Dunlim,two\n";

/// Longer than a file must have lain untouched for its looks to be trusted.
fn lie_untouched() {
    std::thread::sleep(Duration::from_millis(2100));
}

fn ledger(built: &Built) -> Connection {
    Connection::open(built.store_folder().join("ledger.sqlite")).unwrap()
}

fn seen(built: &Built) -> i64 {
    let count = "SELECT count(*) FROM seen_files";
    ledger(built)
        .query_row(count, [], |row| row.get(0))
        .unwrap()
}

fn modified(path: &Path) -> SystemTime {
    std::fs::metadata(path).unwrap().modified().unwrap()
}

/// The ledger is given another hash of the file's content: only who reads the file finds out.
#[test]
fn a_file_that_looks_as_it_did_is_not_read() {
    let built = built().counts(COUNTS);
    lie_untouched();
    built.load().unwrap();
    assert_eq!(seen(&built), 1);
    ledger(&built)
        .execute_batch(
            "UPDATE batches SET file_sha256 = 'another'; UPDATE seen_files SET file_sha256 = 'another'",
        )
        .unwrap();
    assert!(built.load().unwrap().unchanged);
    let again = ingest::load_again(&built.workspace, &built.root(), now(), &mut |_| {});
    assert!(!again.unwrap().unchanged, "asked to, it reads the file");
}

#[test]
fn a_file_touched_lately_is_read_until_it_lay_untouched() {
    let built = built().counts(COUNTS);
    built.load().unwrap();
    assert_eq!(seen(&built), 0, "its looks say nothing yet");
    assert!(built.load().unwrap().unchanged);
    lie_untouched();
    assert!(built.load().unwrap().unchanged);
    assert_eq!(seen(&built), 1);
}

#[test]
fn another_content_of_the_same_size_is_noticed() {
    let built = built().counts(COUNTS);
    lie_untouched();
    built.load().unwrap();
    let path = built.root().join("counts.csv");
    let before = modified(&path);
    built.write("counts.csv", COUNTS.replace(",12\n", ",13\n"));
    assert!(!built.load().unwrap().unchanged);
    // and at once after that, before the clock of the disk has moved on
    built.write("counts.csv", COUNTS.replace(",12\n", ",14\n"));
    assert!(!built.load().unwrap().unchanged);
    lie_untouched();
    assert!(built.load().unwrap().unchanged);
    built.write("counts.csv", COUNTS.replace(",12\n", ",15\n"));
    let file = File::options().write(true).open(&path).unwrap();
    file.set_modified(before).unwrap();
    drop(file);
    assert!(!built.load().unwrap().unchanged, "its time was set back");
}

#[test]
fn a_file_whose_batch_was_undone_is_left_alone_by_its_looks_too() {
    let built = built().counts(COUNTS);
    lie_untouched();
    built.load().unwrap();
    ingest::undo(&built.workspace, &built.root(), 1, now()).unwrap();
    let report = built.load().unwrap();
    assert_eq!(report.records(), 0);
    assert!(
        report.to_string().contains("Batch 1 was undone"),
        "{report}"
    );
}

/// Its file is spoilt where it stands: only who reads it finds out.
#[test]
fn a_load_beside_a_batch_does_not_read_it() {
    let mut built = built().counts(COUNTS);
    built.load().unwrap();
    let (batch, bytes) = built.batch_files()[0].clone();
    built.write(&format!("wingtide-store/{batch}"), vec![0; bytes.len()]);
    built.write(
        "more.csv",
        "Date,Place,Species,Number\n2025-05-04,Long Bank,Dunlin,9\n",
    );
    built.source("more", SourceKind::Counts(count_columns()));
    let report = built.load().unwrap();
    assert_eq!(report.site("long-bank").unwrap().visits, 4);
    assert_eq!(report.site("tern-lagoon").unwrap().visits, 2);
    built.write(&format!("wingtide-store/{batch}"), bytes);
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    assert_eq!(history.visits.len(), 4);
}

/// A batch of which the ledger has no list by site, as one of an older version: every answer is
/// the same, and the next load makes the list up.
#[test]
fn answers_are_the_same_with_and_without_the_list_by_site() {
    let mut built = built().counts(COUNTS).visits(
        "Date,Place,Minutes\n2025-05-01,Long Bank,45\n2025-05-04,Tern Lagoon,33.3333333333333357\n",
    );
    built.load().unwrap();
    let answers = |built: &Built| {
        let store = built.store();
        let of = |site| {
            let history = store.history(&built.workspace, site).unwrap();
            let last = store.last_visit(site).unwrap();
            format!("{history:?} {last:?}")
        };
        let report = store.last_report().unwrap().unwrap();
        let suspects = store.suspects(&built.workspace, &report, now()).unwrap();
        let dates = store.visit_dates().unwrap();
        (of("long-bank"), of("tern-lagoon"), suspects, dates)
    };
    let with = answers(&built);
    ledger(&built)
        .execute_batch("DELETE FROM batch_sites")
        .unwrap();
    assert_eq!(answers(&built), with);
    built.write(
        "more.csv",
        "Date,Place,Species,Number\n2025-05-04,Long Bank,Dunlin,9\n",
    );
    built.source("more", SourceKind::Counts(count_columns()));
    built.load().unwrap();
    let listed = "SELECT count(DISTINCT batch) FROM batch_sites";
    let listed: i64 = ledger(&built)
        .query_row(listed, [], |row| row.get(0))
        .unwrap();
    assert_eq!(listed, 3);
}
