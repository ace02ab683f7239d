//! Stores that an older version wrote.

use crate::workspace::*;
use ingest::Store;
use rusqlite::Connection;

/// The ledger's tables as versions 1 and 2 made them.
const VERSION_2: [&str; 2] = [
    include_str!("../../src/store/ledger.sql"),
    include_str!("../../src/store/issued.sql"),
];

const COUNTS: &str = "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n\
    2025-09-01,Long Bank,Dunlin,4\n";
const VISITS: &str = "Date,Place\n2024-09-01,Long Bank\n2025-05-01,Long Bank\n\
    2025-09-01,Long Bank\n";

/// A store of version 2: what a load makes today, in the tables of then.
fn of_version_2(built: &Built) {
    built.load().unwrap();
    let ledger = built.store_folder().join("ledger.sqlite");
    let today = built.root().join("today.sqlite");
    std::fs::rename(&ledger, &today).unwrap();
    let conn = Connection::open(&ledger).unwrap();
    conn.execute_batch(&VERSION_2.concat()).unwrap();
    conn.pragma_update(None, "user_version", 2).unwrap();
    let from = [today.to_str().unwrap()];
    conn.execute("ATTACH ?1 AS today", from).unwrap();
    for (table, columns) in [
        (
            "batches",
            "id, source, loaded_at, kind, file, file_sha256, mapping_sha256, fully_reported, \
             rows, parquet, bytes, report",
        ),
        ("gaps", "site, year, half, visits"),
        ("last_load", "id, loaded_at, report"),
    ] {
        let copy =
            format!("INSERT INTO main.{table} ({columns}) SELECT {columns} FROM today.{table}");
        assert!(conn.execute(&copy, []).unwrap() > 0, "{table}");
    }
    conn.execute_batch("DETACH today; INSERT INTO fits VALUES ('long-bank', 'A b', 'x', '1')")
        .unwrap();
}

/// A store of version 5: what a load makes today, without the tables since.
fn of_version_5(built: &Built) {
    built.load().unwrap();
    let ledger = Connection::open(built.store_folder().join("ledger.sqlite")).unwrap();
    ledger
        .execute_batch(
            "DROP TABLE batch_sites; DROP TABLE seen_files; DROP TABLE asked_of_sites; \
             DROP TABLE asked_of_batches; DROP TABLE second_look_answers; DROP TABLE second_look_scores; PRAGMA user_version = 5",
        )
        .unwrap();
}

#[test]
fn a_store_of_version_5_answers_as_before_and_is_listed_by_site_at_the_next_load() {
    let mut built = built().counts(COUNTS).visits(VISITS);
    of_version_5(&built);
    let store = Store::open_existing(&built.root()).unwrap();
    let kept = built.store_folder().join("ledger-version-5.sqlite");
    assert_eq!(version(&kept), 5);
    let tables = "SELECT count(*) FROM sqlite_master WHERE name = 'batch_sites'";
    let copy = Connection::open(&kept).unwrap();
    let new: i64 = copy.query_row(tables, [], |row| row.get(0)).unwrap();
    assert_eq!(new, 0, "the copy is as the older version left it");
    let history = store.history(&built.workspace, "long-bank").unwrap();
    assert_eq!(history.visits.len(), 2);
    drop(store);
    assert!(built.load().unwrap().unchanged);
    built.write(
        "more.csv",
        "Date,Place,Species,Number\n2025-05-04,Long Bank,Dunlin,9\n",
    );
    built.source(
        "more",
        config::settings::SourceKind::Counts(count_columns()),
    );
    assert_eq!(built.load().unwrap().site("long-bank").unwrap().visits, 4);
    let ledger = Connection::open(built.store_folder().join("ledger.sqlite")).unwrap();
    let listed = "SELECT count(*) FROM batch_sites";
    let listed: i64 = ledger.query_row(listed, [], |row| row.get(0)).unwrap();
    assert_eq!(listed, 3);
}

fn version(path: &std::path::Path) -> i64 {
    let conn = Connection::open(path).unwrap();
    conn.pragma_query_value(None, "user_version", |row| row.get(0))
        .unwrap()
}

#[test]
fn an_older_store_is_brought_up_to_date_and_its_ledger_kept() {
    let built = built().counts(COUNTS).visits(VISITS);
    of_version_2(&built);
    let ledger = built.store_folder().join("ledger.sqlite");
    let kept = built.store_folder().join("ledger-version-2.sqlite");
    let before = {
        let conn = Connection::open(&ledger).unwrap();
        let rows: i64 = conn
            .query_row("SELECT sum(rows) FROM batches", [], |row| row.get(0))
            .unwrap();
        rows
    };
    let store = Store::open_existing(&built.root()).unwrap();
    assert!(version(&ledger) > 2);
    assert_eq!(version(&kept), 2);
    let copy = Connection::open(&kept).unwrap();
    let rows: i64 = copy
        .query_row("SELECT sum(rows) FROM batches", [], |row| row.get(0))
        .unwrap();
    assert_eq!((before, rows), (5, 5));
    let tables = "SELECT count(*) FROM sqlite_master WHERE name = 'half_years'";
    let new: i64 = copy.query_row(tables, [], |row| row.get(0)).unwrap();
    assert_eq!(new, 0, "the copy is as the older version left it");
    let history = store.history(&built.workspace, "long-bank").unwrap();
    assert_eq!(history.visits.len(), 2);
    assert_eq!(store.fits("long-bank").unwrap().len(), 1);
}

#[test]
fn what_an_older_store_counted_as_visited_stays_visited() {
    let built = built().counts(COUNTS).visits(VISITS);
    of_version_2(&built);
    let without = COUNTS.replace("2025-09-01,Long Bank,Dunlin,4\n", "");
    built.write("counts.csv", without);
    let report = built.load().unwrap();
    let gaps: Vec<String> = report.gaps.iter().map(|g| g.half.to_string()).collect();
    assert_eq!(gaps, ["July-December 2024"]);
    assert_eq!(report.half_years.len(), 1, "{report}");
}
