//! One visit told by two sources: found, shown, and put together by the rule.

use crate::workspace::*;
use config::meaning::OverlapRule;
use config::settings::*;
use forecast::series::Count::{self, *};
use ingest::LoadReport;

/// On the 1st both say the same; on the 2nd the logbook has more Dunlins; on the 3rd each has a
/// species that the other lacks; the 4th and 5th are in one alone.
const DIARY: &str = "Date,Place,Species,Number,Minutes\n\
    2025-05-01,Long Bank,Dunlin,3,60\n2025-05-02,Long Bank,Dunlin,4,60\n\
    2025-05-03,Long Bank,Dunlin,5,60\n2025-05-04,Long Bank,Dunlin,6,60\n";
const LOGBOOK: &str = "Date,Place,Species,Number,Minutes\n\
    2025-05-01,Long Bank,Dunlin,3,60\n2025-05-02,Long Bank,Dunlin,9,90\n\
    2025-05-03,Long Bank,Little Stint,2,60\n2025-05-05,Long Bank,Dunlin,7,60\n";

fn with_effort(fully_reported: bool) -> SourceKind {
    SourceKind::Counts(CountColumns {
        effort: Some("Minutes".into()),
        fully_reported,
        ..count_columns()
    })
}

/// The diary is fully reported, the logbook as said.
fn two(rule: OverlapRule, logbook_full: bool) -> Built {
    let mut built = built();
    built.workspace.records.overlap = rule;
    built.write("diary.csv", DIARY);
    built.write("logbook.csv", LOGBOOK);
    built.source("diary", with_effort(true));
    built.source("logbook", with_effort(logbook_full));
    built
}

fn counts(built: &Built, species: &str) -> Vec<Count> {
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    let series = history.species.get(species).unwrap_or(&history.unrecorded);
    series.iter().map(|(_, count)| count).collect()
}

fn ratios(built: &Built) -> Vec<f64> {
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    let ratio =
        |v: &forecast::series::Visit| v.log_effort_ratio.exp() * history.standard_effort.unwrap();
    history.visits.iter().map(|v| ratio(v).round()).collect()
}

#[test]
fn the_largest_count_and_the_longest_effort_stand_unless_said_otherwise() {
    let built = two(OverlapRule::default(), true);
    let report = built.load().unwrap();
    let dunlins = [3, 9, 5, 6, 7].map(Exactly);
    assert_eq!(counts(&built, "Calidris alpina"), dunlins);
    let stints = [0, 0, 2, 0, 0].map(Exactly);
    assert_eq!(counts(&built, "Calidris minuta"), stints);
    assert_eq!(ratios(&built), [60.0, 90.0, 60.0, 60.0, 60.0]);
    let page = report.to_string();
    for told in [
        "Visits that two sources tell of\n  diary and logbook: 3 visits (first: long-bank, 2025-05-01)",
        "1 told alike, 1\n    with species of one alone, 1 with other counts (first: long-bank, ",
        "Each is one visit: of each species the largest count stands, and the longest\n",
    ] {
        assert!(page.contains(told), "{told}\n{page}");
    }
    assert!(built.load().unwrap().unchanged);
}

#[test]
fn the_source_that_stands_first_tells_the_whole_visit() {
    let mut built = two(OverlapRule::First, true);
    built.load().unwrap();
    let alpina = |built: &Built| counts(built, "Calidris alpina");
    assert_eq!(alpina(&built), [3, 4, 5, 6, 7].map(Exactly));
    // the diary of the 3rd is fully reported and has no stint
    let stints = [0, 0, 0, 0, 0].map(Exactly);
    assert_eq!(counts(&built, "Calidris minuta"), stints);
    assert_eq!(ratios(&built), [60.0; 5]);
    built.workspace.sources.swap(0, 1);
    assert!(!built.load().unwrap().unchanged);
    assert_eq!(alpina(&built), [3, 9, 0, 6, 7].map(Exactly));
    assert_eq!(ratios(&built)[1], 90.0);
}

#[test]
fn different_birds_add_up_and_so_do_efforts() {
    let mut built = two(OverlapRule::Add, true);
    built.load().unwrap();
    let print = |built: &Built| {
        let history = built.store().history(&built.workspace, "long-bank");
        history.unwrap().fingerprint
    };
    let before = print(&built);
    let dunlins = [6, 13, 5, 6, 7].map(Exactly);
    assert_eq!(counts(&built, "Calidris alpina"), dunlins);
    assert_eq!(ratios(&built), [120.0, 150.0, 120.0, 60.0, 60.0]);
    built.workspace.records.overlap = OverlapRule::Largest;
    assert!(!built.load().unwrap().unchanged);
    assert_ne!(print(&built), before);
}

#[test]
fn a_partial_and_a_full_report_of_one_visit() {
    let built = two(OverlapRule::Largest, false);
    built.load().unwrap();
    // the logbook of the 5th, which nobody else tells of, says nothing of terns
    let terns = [Exactly(0), Exactly(0), Exactly(0), Exactly(0), Unknown];
    assert_eq!(counts(&built, "Sterna hirundo"), terns);
    let mut built = two(OverlapRule::First, false);
    built.workspace.sources.swap(0, 1);
    built.load().unwrap();
    let terns = [Unknown, Unknown, Unknown, Exactly(0), Unknown];
    assert_eq!(counts(&built, "Sterna hirundo"), terns);
    let dunlins = [Exactly(3), Exactly(9), Unknown, Exactly(6), Exactly(7)];
    assert_eq!(counts(&built, "Calidris alpina"), dunlins);
}

#[test]
fn refused_rows_of_one_source_and_counts_of_the_other() {
    for (rule, expected) in [
        (OverlapRule::Largest, AtLeast(9)),
        (OverlapRule::First, Unknown),
    ] {
        let built = two(rule, true);
        built.write("diary.csv", DIARY.replace(",4,60", ",lots,60"));
        built.load().unwrap();
        assert_eq!(counts(&built, "Calidris alpina")[1], expected, "{rule:?}");
    }
}

/// Each source's own observers come first: 30 and 40 of one day, then the other source's 50.
#[test]
fn observers_of_each_source_and_then_the_sources() {
    for (observers, expected) in [
        (config::meaning::ObserverRule::Add, 70),
        (config::meaning::ObserverRule::Largest, 50),
    ] {
        let mut built = built();
        built.write(
            "diary.csv",
            "Date,Place,Species,Number,Who\n2025-05-01,Long Bank,Dunlin,30,Ann Warden\n\
             2025-05-01,Long Bank,Dunlin,40,B. Keeper\n",
        );
        built.write(
            "logbook.csv",
            "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,50\n",
        );
        let meaning = &mut built
            .source("diary", SourceKind::Counts(count_columns()))
            .meaning;
        meaning.columns.observer = Some("Who".into());
        meaning.observers = Some(observers);
        built.source("logbook", SourceKind::Counts(count_columns()));
        built.load().unwrap();
        assert_eq!(counts(&built, "Calidris alpina"), [Exactly(expected)]);
    }
}

#[test]
fn a_targeted_search_beside_a_standard_count_is_another_visit() {
    let mut built = two(OverlapRule::Largest, true);
    built.workspace.sources[1].meaning.purpose = Some(config::meaning::Purpose::Targeted);
    let report = built.load().unwrap();
    assert!(report.overlaps.is_empty(), "{report}");
    let dunlins = [3, 4, 5, 6].map(Exactly);
    assert_eq!(counts(&built, "Calidris alpina"), dunlins);
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    assert_eq!(history.targeted.len(), 4);
}

#[test]
fn undecided_and_targeted_birds_are_not_told_twice_either() {
    let mut built = built();
    let rows = "2025-05-01,Long Bank,Little Stint/Dunlin,4\n2025-05-02,Long Bank,Dunlin,2\n";
    for id in ["diary", "logbook"] {
        built.write(
            &format!("{id}.csv"),
            format!(
                "Date,Place,Species,Number,Why\n{}",
                rows.replace('\n', ",targeted\n")
            ),
        );
        let source = built.source(id, SourceKind::Counts(count_columns()));
        source.meaning.columns.purpose = Some("Why".into());
    }
    for (rule, each) in [
        (OverlapRule::Largest, 1),
        (OverlapRule::First, 1),
        (OverlapRule::Add, 2),
    ] {
        built.workspace.records.overlap = rule;
        let report = built.load().unwrap();
        assert_eq!(
            (report.overlaps[0].visits, report.overlaps[0].alike),
            (2, 2)
        );
        let history = built
            .store()
            .history(&built.workspace, "long-bank")
            .unwrap();
        let told = (history.undecided.len(), history.targeted.len());
        assert_eq!(told, (each, each), "{rule:?}");
    }
}

/// Two files of one source are one source, and a visits table beside counts tells nothing twice.
#[test]
fn what_is_no_overlap() {
    let mut built = built().visits("Date,Place,Minutes\n2025-05-01,Long Bank,60\n");
    std::fs::create_dir(built.root().join("counts")).unwrap();
    built.write(
        "counts/a.csv",
        "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n",
    );
    built.write(
        "counts/b.csv",
        "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,4\n",
    );
    let folder = built.root().join("counts");
    built
        .source("counts", SourceKind::Counts(count_columns()))
        .path = folder;
    let report = built.load().unwrap();
    assert!(report.overlaps.is_empty(), "{report}");
    assert_eq!(counts(&built, "Calidris alpina"), [Exactly(7)]);
}

#[test]
fn an_undo_of_one_source_leaves_the_other_ones_numbers() {
    let built = two(OverlapRule::Largest, true);
    built.load().unwrap();
    let undo = |batch| ingest::undo(&built.workspace, &built.root(), batch, now()).unwrap();
    let undone = undo(2);
    assert!(undone.report.overlaps.is_empty(), "{}", undone.report);
    assert_eq!(counts(&built, "Calidris alpina"), [3, 4, 5, 6].map(Exactly));
    ingest::load_again(&built.workspace, &built.root(), now(), &mut |_| {}).unwrap();
    let undone = undo(1);
    assert!(undone.report.overlaps.is_empty(), "{}", undone.report);
    assert_eq!(counts(&built, "Calidris alpina"), [3, 9, 0, 7].map(Exactly));
}

/// What goes out is put together once and for all: it loads as one source without any overlap.
#[test]
fn what_is_passed_on_loads_again_as_the_same_store() {
    for rule in [OverlapRule::Largest, OverlapRule::First, OverlapRule::Add] {
        let built = two(rule, false);
        built.load().unwrap();
        let out = tempfile::tempdir().unwrap();
        let format = ingest::export::Format::Csv;
        ingest::export::export(&built.store(), &built.workspace, format, out.path()).unwrap();
        let workspace = config::load(out.path()).unwrap();
        let report: LoadReport = ingest::load(&workspace, out.path(), now(), &mut |_| {}).unwrap();
        assert!(report.overlaps.is_empty());
        let again = ingest::Store::open_existing(out.path()).unwrap();
        let again = again.history(&workspace, "long-bank").unwrap();
        let before = built
            .store()
            .history(&built.workspace, "long-bank")
            .unwrap();
        for (name, series) in &before.species {
            let after = &again.species[name];
            assert!(series.iter().eq(after.iter()), "{rule:?} {name}");
        }
        assert_eq!(before.standard_effort, again.standard_effort);
    }
}
