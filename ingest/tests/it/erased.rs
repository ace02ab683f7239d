//! Observers' names: kept as the settings say, and erased from all that the store keeps.

use crate::workspace::*;
use config::meaning::{KeepObservers, ObserverRule};
use config::settings::{CountColumns, SourceKind};
use forecast::series::Count::{self, *};
use ingest::WhoseName;

const ROWS: &str = "Date,Place,Species,Number,Who,Minutes,Age\n\
    2025-05-01,Long Bank,Dunlin,30,Ann Warden,60,\n2025-05-01,Long Bank,Dunlin,40,B. Keeper,45,\n\
    2025-05-02,Long Bank,Dunlin,7,Ann  Warden | B. Keeper,60,\n\
    2025-05-03,Long Bank,Dunlin,7,,60,juv (Ann Warden)\n\
    2025-05-04,Long Bank,Dunlin,many says Ann Warden,B. Keeper,60,\n";

fn with_names(keep: KeepObservers) -> Built {
    let mut built = built();
    built.write("counts.csv", ROWS);
    built.workspace.records.keep_observers = keep;
    let columns = CountColumns {
        effort: Some("Minutes".into()),
        fully_reported: true,
        ..count_columns()
    };
    let source = built.source("counts", SourceKind::Counts(columns));
    source.meaning.columns.observer = Some("Who".into());
    source.meaning.columns.age = Some("Age".into());
    source.meaning.observers = Some(ObserverRule::Largest);
    built
}

/// All that the store's folder holds, as lower-case text.
fn bytes(built: &Built) -> String {
    let files = std::fs::read_dir(built.store_folder()).unwrap();
    let all = files.flat_map(|f| std::fs::read(f.unwrap().path()).unwrap());
    String::from_utf8_lossy(&all.collect::<Vec<u8>>()).to_lowercase()
}

fn history(built: &Built) -> (Vec<Count>, String, Option<f64>) {
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    let counts = history.species["Calidris alpina"].iter().map(|(_, c)| c);
    (
        counts.collect(),
        history.fingerprint.clone(),
        history.standard_effort,
    )
}

#[test]
fn names_are_kept_only_as_the_settings_allow() {
    for (keep, name, letters) in [
        (KeepObservers::None, false, false),
        (KeepObservers::Initials, false, true),
        (KeepObservers::Names, true, false),
    ] {
        let mut built = with_names(keep);
        // nothing else of the file says who it was
        built.write(
            "counts.csv",
            ROWS.replace("juv (Ann Warden)", "juv")
                .replace("many says Ann Warden", "many"),
        );
        built.load().unwrap();
        assert_eq!(bytes(&built).contains("b. keeper"), name, "{keep:?}");
        let erased = |whose| built.store().erase_observer(whose);
        assert_eq!(erased(WhoseName::One("BK")).is_ok(), letters, "{keep:?}");
        built.workspace.records.keep_observers = KeepObservers::Names;
        assert_eq!(built.load().unwrap().unchanged, name);
    }
}

#[test]
fn an_erased_name_stands_in_no_file_of_the_store_and_no_number_changes() {
    let built = with_names(KeepObservers::Names);
    built.load().unwrap();
    // a former batch has the name as well
    built.write("counts.csv", ROWS.replace(",30,", ",31,"));
    built.load().unwrap();
    let before = history(&built);
    // of 30 and 40 on the first visit the larger stands: parties are told apart
    assert_eq!(before.0, [Exactly(40), Exactly(7), Exactly(7), Unknown]);
    assert!(bytes(&built).contains("ann warden") && bytes(&built).contains("b. keeper"));
    let erased = built
        .store()
        .erase_observer(WhoseName::One("ann warden"))
        .unwrap();
    // two rows of each batch, the age of one row of each, and the refused cell in both batches'
    // reports and the one on the last load
    assert_eq!((erased.rows, erased.batches, erased.texts), (4, 2, 5));
    let left = bytes(&built);
    assert!(!left.contains("warden") && left.contains("b. keeper"));
    assert_eq!(history(&built), before);
    let report = built.load().unwrap();
    assert!(report.unchanged, "{report}");
    // the former batch comes back without the name, too
    ingest::undo(&built.workspace, &built.root(), 2, now()).unwrap();
    assert_eq!(history(&built).0, before.0);
    assert!(!bytes(&built).contains("warden"));
    let again = built.store().erase_observer(WhoseName::One("Ann Warden"));
    let said = again.unwrap_err().to_string();
    assert_eq!(said, "no observer is kept as \"Ann Warden\"");
    let said = built
        .store()
        .erase_observer(WhoseName::One("B. Keper"))
        .unwrap_err();
    assert_eq!(
        said.to_string(),
        "no observer is kept as \"B. Keper\"; the nearest kept is \"B. Keeper\""
    );
    built.store().erase_observer(WhoseName::All).unwrap();
    assert!(!bytes(&built).contains("keeper"));
    assert_eq!(built.batch_files().len(), 1);
}

/// Two loads of a file that names observers nowhere but in their column; afterwards no names are to
/// be kept.
fn loaded_twice_with_names() -> Built {
    let mut built = with_names(KeepObservers::Names);
    let rows = ROWS
        .replace("juv (Ann Warden)", "juv")
        .replace("many says Ann Warden", "many");
    for rows in [rows.replace(",30,", ",29,"), rows] {
        built.write("counts.csv", rows);
        built.load().unwrap();
    }
    assert!(bytes(&built).contains("ann warden"));
    built.workspace.records.keep_observers = KeepObservers::None;
    built
}

#[test]
fn names_of_former_loads_go_once_none_may_be_kept() {
    let built = loaded_twice_with_names();
    let copy = built.store_folder().join("ledger-version-4.sqlite");
    std::fs::copy(built.store().ledger_path(), &copy).unwrap();
    let before = history(&built).0;
    let report = built.load().unwrap();
    // three rows of each of the two batches
    let erased = report.names_erased.unwrap();
    assert_eq!((erased.rows, erased.batches), (6, 2));
    let said = report.to_string().replace("\n  ", " ");
    assert!(
        said.contains(
            "keep_observers allows them no more: names of observers that former loads kept were erased \
             from 6 rows of 2 batches; no count changed."
        ),
        "{said}"
    );
    let left = bytes(&built);
    assert!(!left.contains("warden") && !left.contains("keeper"));
    assert_eq!(history(&built).0, before);
    assert_eq!(built.store().last_report().unwrap(), Some(report));
    let again = built.load().unwrap();
    assert!(again.unchanged && again.names_erased.is_none(), "{again}");
    // a former batch comes back without them
    ingest::undo(&built.workspace, &built.root(), 3, now()).unwrap();
    assert_eq!(history(&built).0, before);
    assert!(!bytes(&built).contains("warden"));
}

#[test]
fn names_of_former_loads_go_once_first_letters_alone_may_be_kept() {
    let mut built = loaded_twice_with_names();
    built.workspace.records.keep_observers = KeepObservers::Initials;
    let before = history(&built).0;
    let report = built.load().unwrap();
    assert_eq!(report.names_erased.map(|e| e.batches), Some(2), "{report}");
    assert!(!bytes(&built).contains("warden"));
    assert_eq!(history(&built).0, before);
    // the file was read anew, and its first letters stay from then on
    let again = built.load().unwrap();
    assert!(again.unchanged && again.names_erased.is_none(), "{again}");
    let letters = built.store().erase_observer(WhoseName::One("BK"));
    assert!(letters.is_ok(), "{letters:?}");
}

#[test]
fn an_undo_leaves_names_to_the_next_load() {
    let built = loaded_twice_with_names();
    ingest::undo(&built.workspace, &built.root(), 2, now()).unwrap();
    assert!(bytes(&built).contains("ann warden"));
    let report = built.load().unwrap();
    // the rows of the batch that was undone are gone
    assert_eq!(report.names_erased.map(|e| e.batches), Some(1), "{report}");
    assert!(!bytes(&built).contains("warden"));
}

#[test]
fn a_load_that_fails_erases_no_name() {
    let built = loaded_twice_with_names();
    built.write("counts.csv", "Day,Place\n");
    built.load().unwrap_err();
    assert!(bytes(&built).contains("ann warden"));
}

#[test]
fn a_file_that_is_read_anew_brings_its_names_back_only_where_names_are_kept() {
    for (keep, back) in [(KeepObservers::Names, true), (KeepObservers::None, false)] {
        let mut built = with_names(KeepObservers::Names);
        built.load().unwrap();
        built.store().erase_observer(WhoseName::All).unwrap();
        built.workspace.records.keep_observers = keep;
        built.write(
            "counts.csv",
            ROWS.replace(",30,", ",31,")
                .replace("(Ann Warden)", "")
                .replace("says Ann Warden", ""),
        );
        built.load().unwrap();
        assert_eq!(bytes(&built).contains("ann warden"), back, "{keep:?}");
    }
}

/// What an older version's ledger says of refused cells goes, too.
#[test]
fn a_ledger_of_an_older_version_is_erased_as_well() {
    let built = with_names(KeepObservers::Names);
    built.load().unwrap();
    let copy = built.store_folder().join("ledger-version-4.sqlite");
    std::fs::copy(built.store().ledger_path(), &copy).unwrap();
    built
        .store()
        .erase_observer(WhoseName::One("Ann Warden"))
        .unwrap();
    assert!(copy.exists() && !bytes(&built).contains("warden"));
}
