//! The ledger of batches: what is listed, what an undo brings back, what is kept.

use crate::workspace::*;
use ingest::report::{Changes, LoadReport};
use ingest::store::{ListedBatch, State};
use ingest::{StoreError, UndoError};

const HEAD: &str = "Date,Place,Species,Number\n";
const FIRST: &str = "2024-09-01,Long Bank,Dunlin,3\n2025-05-01,Long Bank,Dunlin,3\n\
    2025-05-01,Long Bank,Little Stint,1\n";

fn file(rows: &str) -> String {
    format!("{HEAD}{rows}")
}

/// Loads at a given hour of a day, so that loads can be told apart.
fn load_at(built: &Built, hour: u32) -> LoadReport {
    ingest::load(&built.workspace, &built.root(), at(hour), &mut |_| {}).unwrap()
}

fn at(hour: u32) -> chrono::DateTime<chrono::Utc> {
    format!("2026-03-02T{hour:02}:00:00Z").parse().unwrap()
}

fn listed(built: &Built) -> Vec<ListedBatch> {
    built.store().listed_batches().unwrap()
}

fn states(built: &Built) -> Vec<(i64, State, Option<i64>, bool)> {
    let short = |b: ListedBatch| (b.batch, b.state, b.replaced_by, b.rows_kept);
    listed(built).into_iter().map(short).collect()
}

fn dunlins(built: &Built) -> u64 {
    let history = built.store().history(&built.workspace, "long-bank");
    history.unwrap().species["Calidris alpina"].birds()
}

fn undo(built: &Built, batch: i64, hour: u32) -> Result<ingest::Undone, UndoError> {
    ingest::undo(&built.workspace, &built.root(), batch, at(hour))
}

#[test]
fn each_load_of_a_source_is_a_batch_and_says_what_it_changed() {
    let built = built()
        .counts(file(FIRST))
        .visits("Date,Place\n2025-05-01,Long Bank\n");
    assert!(
        load_at(&built, 1)
            .sources
            .iter()
            .all(|s| s.changes.is_none())
    );
    let second = FIRST.replace("Stint,1", "Stint,2")
        + "2025-05-02,Long Bank,Dunlin,9\nno date,Long Bank,Dunlin,9\n";
    let second = second.replace("2024-09-01,Long Bank,Dunlin,3\n", "");
    built.write("counts.csv", file(&second));
    let report = load_at(&built, 2);
    let changes = Changes {
        since: 1,
        added: 1,
        changed: 1,
        removed: 1,
    };
    assert_eq!(report.source("counts").unwrap().changes, Some(changes));
    let words = "Against batch 1: 1 row added, 1 changed, 1 removed";
    assert!(report.to_string().contains(words), "{report}");
    assert_eq!(
        states(&built),
        [
            (1, State::Replaced, Some(3), true),
            (2, State::Current, None, true),
            (3, State::Current, None, true),
        ]
    );
    let [first, visits, third] = &listed(&built)[..] else {
        panic!()
    };
    assert_eq!((first.accepted, first.refused, first.birds), (3, 0, 7));
    assert_eq!((third.accepted, third.refused, third.birds), (3, 1, 14));
    assert_eq!(
        (visits.source.as_str(), visits.file.as_str()),
        ("visits", "visits.csv")
    );
    assert_ne!(first.file_sha256, third.file_sha256);
    assert_eq!(first.mapping_sha256, third.mapping_sha256);
    assert_eq!(third.changes, Some(changes));
    let disk = built.store().disk_use().unwrap();
    assert_eq!(disk.current, visits.bytes + third.bytes);
    assert_eq!(disk.former, first.bytes);
    let files = built.batch_files();
    let bytes: u64 = files.iter().map(|(_, bytes)| bytes.len() as u64).sum();
    assert_eq!(disk.current + disk.former, bytes);
}

#[test]
fn rows_in_another_order_are_no_change() {
    let built = built().counts(file(FIRST));
    load_at(&built, 1);
    let backwards: String = FIRST.split_inclusive('\n').rev().collect();
    built.write("counts.csv", file(&backwards));
    let changes = load_at(&built, 2).sources[0].changes.unwrap();
    assert_eq!((changes.added, changes.changed, changes.removed), (0, 0, 0));
}

#[test]
fn an_undo_brings_back_what_was_and_the_file_is_left_alone() {
    let built = built().counts(file(FIRST));
    load_at(&built, 1);
    let prints = |built: &Built| {
        let history = built.store().history(&built.workspace, "long-bank");
        history.unwrap().fingerprint
    };
    let before = prints(&built);
    built.write("counts.csv", file(&FIRST.replace(",3", ",300")));
    load_at(&built, 2);
    assert_eq!(dunlins(&built), 600);
    let undone = undo(&built, 2, 3).unwrap();
    assert_eq!((undone.batch.batch, undone.back_to), (2, Some(1)));
    assert_eq!((dunlins(&built), prints(&built)), (6, before));
    assert_eq!(
        states(&built),
        [
            (1, State::Current, None, true),
            (2, State::Undone, None, false)
        ]
    );
    assert_eq!(built.batch_files().len(), 1);
    // the file is still that of the undone batch
    let ledger = std::fs::read(built.store().ledger_path()).unwrap();
    let left_alone = load_at(&built, 4);
    assert!(left_alone.unchanged);
    let note = "Batch 2 was undone, so the rows are those of batch 1.";
    assert!(left_alone.sources[0].notes[0].text.starts_with(note));
    assert!(left_alone.to_string().contains("--again"), "{left_alone}");
    assert_eq!(std::fs::read(built.store().ledger_path()).unwrap(), ledger);
    // until it changes
    built.write("counts.csv", file(&FIRST.replace(",3", ",4")));
    let report = load_at(&built, 5);
    assert_eq!(
        (dunlins(&built), report.sources[0].changes.unwrap().since),
        (8, 1)
    );
    assert_eq!(states(&built)[0], (1, State::Replaced, Some(3), true));
}

#[test]
fn an_undone_file_is_loaded_again_when_asked_for_or_read_otherwise() {
    let mut built = built().counts(file(FIRST));
    load_at(&built, 1);
    let undone = undo(&built, 1, 2).unwrap();
    assert_eq!(undone.back_to, None);
    assert_eq!(undone.report.site("long-bank").unwrap().visits, 0);
    let error = match ingest::Store::open_existing(&built.root()) {
        Ok(_) => panic!("there is something in use"),
        Err(error) => error,
    };
    assert!(matches!(error, StoreError::Emptied), "{error}");
    assert!(load_at(&built, 3).unchanged);
    let again = ingest::load_again(&built.workspace, &built.root(), at(4), &mut |_| {}).unwrap();
    assert_eq!((again.sources[0].accepted, dunlins(&built)), (3, 6));
    undo(&built, 2, 5).unwrap();
    built.workspace.species[0].also.push("stint".into());
    let report = load_at(&built, 6);
    assert_eq!(report.sources[0].accepted, 3);
    let told = "This is the file of batch 2, which was undone; it is loaded again.";
    assert!(
        report.sources[0].notes.iter().any(|n| n.text == told),
        "{report}"
    );
    assert!(
        load_at(&built, 7).unchanged,
        "said once, it is a batch like any other"
    );
}

#[test]
fn an_undo_forgets_what_the_load_decided_of_half_years() {
    let built = built()
        .counts(file(FIRST))
        .visits("Date,Place\n2024-09-01,Long Bank\n2024-05-01,Long Bank\n2025-05-01,Long Bank\n");
    load_at(&built, 1);
    let gaps = |report: &LoadReport| -> Vec<String> {
        report.gaps.iter().map(|g| g.half.to_string()).collect()
    };
    // a wrong file ends the gap of spring 2024 until it is undone
    built.write(
        "counts.csv",
        file(&format!("{FIRST}2024-05-01,Long Bank,Dunlin,3\n")),
    );
    assert!(load_at(&built, 2).gaps.is_empty());
    let undone = undo(&built, 3, 3).unwrap();
    assert_eq!(gaps(&undone.report), ["January-June 2024"]);
    assert_eq!(built.store().gaps().unwrap(), undone.report.gaps);
}

#[test]
fn what_cannot_be_undone_is_said_and_nothing_changes() {
    let mut built = built().counts(file(FIRST));
    built.workspace.store.keep_batches = 1;
    for (hour, birds) in [(1, "3"), (2, "4"), (3, "5")] {
        built.write(
            "counts.csv",
            file(&FIRST.replace(",3", &format!(",{birds}"))),
        );
        load_at(&built, hour);
    }
    assert_eq!(states(&built)[0], (1, State::Replaced, Some(2), false));
    assert_eq!(built.batch_files().len(), 2);
    let ledger = || std::fs::read(built.store().ledger_path()).unwrap();
    let before = ledger();
    let said = |batch| undo(&built, batch, 4).unwrap_err().to_string();
    assert_eq!(
        said(9),
        "there is no batch 9; `wingtide batches` lists them"
    );
    assert_eq!(
        said(2),
        "batch 2 of source \"counts\" was replaced by batch 3: undo that one first"
    );
    assert_eq!(ledger(), before);
    undo(&built, 3, 5).unwrap();
    assert_eq!(said(3), "batch 3 is undone already");
    assert!(said(2).starts_with("the rows of batch 1, which batch 2 replaced, are kept no longer"));
    assert_eq!(dunlins(&built), 8);
}

#[test]
fn sources_keep_the_order_of_wingtide_toml_whichever_was_loaded_last() {
    let mut built = built().counts(file(FIRST));
    for id in ["first", "second"] {
        let columns = config::settings::TemperatureColumns {
            date: "day".into(),
            site: None,
            mean: Some("mean".into()),
            extremes: None,
            unit: Default::default(),
        };
        built.write(&format!("{id}.csv"), "day,mean\n2025-05-01,1\n");
        built.source(id, config::settings::SourceKind::Temperature(columns));
    }
    built.write("first.csv", "day,mean\n2025-05-01,7\n");
    load_at(&built, 1);
    built.write("first.csv", "day,mean\n2025-05-01,8\n");
    load_at(&built, 2);
    let mean = |built: &Built| built.store().temperature("long-bank").unwrap()[0].1;
    assert_eq!(mean(&built), 8.0);
    built.workspace.sources.swap(1, 2);
    assert!(!load_at(&built, 3).unchanged);
    assert_eq!(mean(&built), 1.0);
}
