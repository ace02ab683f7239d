//! The store on the disk.

use crate::workspace::*;
use ingest::{Store, StoreError};

const COUNTS: &str = "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n";

fn error(built: &Built) -> String {
    match Store::open_existing(&built.root()) {
        Ok(_) => panic!("the store opened"),
        Err(error) => error.to_string(),
    }
}

#[test]
fn before_the_first_load_the_way_out_is_told() {
    let built = built();
    assert!(
        error(&built).ends_with("run `wingtide load` first"),
        "{}",
        error(&built)
    );
    Store::open(&built.root()).unwrap();
    assert!(error(&built).ends_with("run `wingtide load` first"));
}

#[test]
fn what_a_killed_load_left_is_cleared_away() {
    let built = built().counts(COUNTS);
    built.load().unwrap();
    let files = built.batch_files();
    // Killed while writing, and killed between the move and the commit.
    built.write("wingtide-store/batch-000002.parquet.partial", "half");
    built.write("wingtide-store/batch-000003.parquet", "whole");
    built.write("wingtide-store/notes.txt", "the keeper's own");
    let store = built.store();
    let own = ("notes.txt".to_owned(), b"the keeper's own".to_vec());
    assert_eq!(built.batch_files(), [files, vec![own]].concat());
    assert_eq!(
        store
            .history(&built.workspace, "long-bank")
            .unwrap()
            .visits
            .len(),
        1
    );
    assert!(built.load().unwrap().unchanged);
}

#[test]
fn a_newer_store_is_refused_untouched() {
    let built = built().counts(COUNTS);
    built.load().unwrap();
    let ledger = built.store_folder().join("ledger.sqlite");
    let conn = rusqlite::Connection::open(&ledger).unwrap();
    conn.pragma_update(None, "user_version", 99).unwrap();
    drop(conn);
    let before = std::fs::read(&ledger).unwrap();
    assert!(
        error(&built).contains("was written by a newer Wingtide (its version 99, this one knows ")
    );
    built.load().unwrap_err();
    assert_eq!(std::fs::read(&ledger).unwrap(), before);
}

#[test]
fn damage_is_told() {
    let built = built().counts(COUNTS);
    built.load().unwrap();
    let batch = built.batch_files()[0].0.clone();
    built.write(&format!("wingtide-store/{batch}"), "PAR1");
    let error_of = || {
        built
            .store()
            .history(&built.workspace, "long-bank")
            .unwrap_err()
    };
    assert!(matches!(error_of(), StoreError::Batch { .. }));
    std::fs::remove_file(built.store_folder().join(&batch)).unwrap();
    assert!(error_of().to_string().contains("is missing or damaged"));
    built.write(
        "wingtide-store/ledger.sqlite",
        "this is no database, but long enough to look at".repeat(9),
    );
    assert!(
        error(&built).contains("file is not a database"),
        "{}",
        error(&built)
    );
}

#[test]
fn a_store_in_use_waits_for_no_one_for_ever() {
    let built = built().counts(COUNTS);
    built.load().unwrap();
    let other = rusqlite::Connection::open(built.store_folder().join("ledger.sqlite")).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    built.write("counts.csv", COUNTS.replace(",3", ",4"));
    let error = built.load().unwrap_err().to_string();
    assert!(
        error.starts_with("the store is in use by another Wingtide"),
        "{error}"
    );
    other.execute_batch("ROLLBACK").unwrap();
    assert!(!built.load().unwrap().unchanged);
}

#[test]
fn fits_are_kept_with_what_they_were_fitted_to() {
    let built = built().counts(COUNTS);
    built.load().unwrap();
    let mut store = built.store();
    let fit = |n: i32| {
        (
            "Calidris alpina".to_owned(),
            serde_json::json!({ "level": n }),
        )
    };
    assert_eq!(store.fits_inputs("long-bank").unwrap(), None);
    store
        .save_fits(
            "long-bank",
            "a",
            &[fit(1), ("Sterna hirundo".into(), true.into())],
        )
        .unwrap();
    store.save_fits("tern-lagoon", "b", &[fit(3)]).unwrap();
    store.save_fits("long-bank", "c", &[fit(2)]).unwrap();
    assert_eq!(store.fits("long-bank").unwrap(), [fit(2)]);
    assert_eq!(
        store.fits_inputs("long-bank").unwrap().as_deref(),
        Some("c")
    );
    assert_eq!(store.fits("tern-lagoon").unwrap(), [fit(3)]);
}
