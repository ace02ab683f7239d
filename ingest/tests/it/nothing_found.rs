//! Rows that say in place of a name that their visit found no bird.

use crate::workspace::*;
use config::settings::*;
use forecast::series::Count::{self, *};
use ingest::LoadReport;
use ingest::store::SiteHistory;

/// Three visits on which nothing was found, each said in another way, around one of a Dunlin.
const COUNTS: &str = "Date,Place,Species,Number,Minutes\n\
    2025-05-01,Long Bank,nil,,60\n2025-05-02,Long Bank,Dunlin,3,60\n\
    2025-05-03,Long Bank,No birds seen,0,30\n2025-05-04,Long Bank,-,-,90\n\
    2025-05-05,Long Bank,nil,none,60\n";

fn with_effort(fully_reported: bool) -> SourceKind {
    SourceKind::Counts(CountColumns {
        effort: Some("Minutes".into()),
        fully_reported,
        ..count_columns()
    })
}

fn one(text: &str, fully_reported: bool) -> Built {
    let mut built = built();
    built.write("counts.csv", text);
    built.source("counts", with_effort(fully_reported));
    built
}

fn history(built: &Built) -> SiteHistory {
    let store = built.store();
    store.history(&built.workspace, "long-bank").unwrap()
}

fn dunlins(built: &Built) -> Vec<Count> {
    let history = history(built);
    let series = history.species.get("Calidris alpina");
    let series = series.unwrap_or(&history.unrecorded);
    series.iter().map(|(_, count)| count).collect()
}

fn refused(report: &LoadReport) -> Vec<(u64, &str, &str)> {
    let refused = report.sources[0].refused.iter();
    refused
        .map(|r| (r.line, r.column.as_str(), r.reason.as_str()))
        .collect()
}

#[test]
fn a_word_for_no_birds_is_a_visit_with_its_effort() {
    let built = one(COUNTS, true);
    let report = built.load().unwrap();
    let source = &report.sources[0];
    assert_eq!((source.accepted, source.repaired), (5, 4));
    assert_eq!(refused(&report), []);
    assert_eq!((source.visits_without_birds(), report.records()), (4, 1));
    let zero = Exactly(0);
    assert_eq!(dunlins(&built), [zero, Exactly(3), zero, zero, zero]);
    let history = history(&built);
    assert_eq!((history.partial_visits, history.species.len()), (0, 1));
    // 30, 60, 60, 60 and 90 minutes
    assert_eq!(history.standard_effort, Some(60.0));
    let ratio = history.visits[3].log_effort_ratio.exp();
    assert!((ratio - 1.5).abs() < 1e-12, "{ratio}");
    // the store has it, and the next load finds nothing to do
    assert!(built.load().unwrap().unchanged);
}

#[test]
fn it_is_told_as_a_repair_with_its_rows() {
    let report = one(COUNTS, true).load().unwrap().to_string();
    for told in [
        "5 accepted, 4 of them repaired; 0 refused",
        "1 record, 1 species, 3 birds, and 4 rows of visits without birds",
        "Repaired: words for no birds in Species, 4 rows from line 2",
        "line 2: \"nil\" read as \"a visit without birds\" (2 rows)",
        "line 5: \"-\" read as \"a visit without birds\" (1 row)",
        "long-bank: 5 visit dates, 2025-05-01 to 2025-05-05; 1 record of 1 species",
        "fully reported: a species without a row was not found",
    ] {
        assert!(report.contains(told), "{told}\n{report}");
    }
}

#[test]
fn a_source_that_is_not_fully_reported_stays_so() {
    let built = one(COUNTS, false);
    built.load().unwrap();
    let unknown = Unknown;
    assert_eq!(
        dunlins(&built),
        [unknown, Exactly(3), unknown, unknown, unknown]
    );
}

/// Birds were seen, and nobody can tell which.
#[test]
fn no_birds_with_a_count_is_refused_and_leaves_its_visit_open() {
    let text = "Date,Place,Species,Number,Minutes\n\
        2025-05-01,Long Bank,none,2,60\n2025-05-02,Long Bank,-,x,60\n\
        2025-05-03,Long Bank,nil,lots,60\n2025-05-04,Long Bank,Dunlin,1,60\n";
    let built = one(text, true);
    let report = built.load().unwrap();
    let birds = "says that no bird was found, but its row counts birds; name the bird, or take out \
                 the count";
    let told = refused(&report);
    assert_eq!(told[..2], [(2, "Species", birds), (3, "Species", birds)]);
    assert_eq!((told.len(), told[2].0, told[2].1), (3, 4, "Number"));
    assert_eq!(dunlins(&built), [Unknown, Unknown, Unknown, Exactly(1)]);
    assert_eq!(history(&built).partial_visits, 3);
}

#[test]
fn where_each_row_is_a_bird_such_a_row_is_none() {
    let mut built = built();
    built.write(
        "counts.csv",
        "Date,Place,Species,Status\n2025-05-01,Long Bank,Dunlin,\n\
         2025-05-02,Long Bank,nothing,\n2025-05-03,Long Bank,nothing,absent\n\
         2025-05-04,Long Bank,nothing,present\n",
    );
    let columns = CountColumns {
        count: None,
        fully_reported: true,
        ..count_columns()
    };
    let source = built.source("counts", SourceKind::Counts(columns));
    source.meaning.columns.status = Some("Status".into());
    let report = built.load().unwrap();
    let lines: Vec<u64> = refused(&report).iter().map(|r| r.0).collect();
    assert_eq!(lines, [5]);
    let found = [Exactly(1), Exactly(0), Exactly(0), Unknown];
    assert_eq!(dunlins(&built), found);
}

#[test]
fn a_listed_name_goes_before_the_word() {
    let text = "Date,Place,Species,Number,Minutes\n2025-05-01,Long Bank,nil,4,60\n\
        2025-05-02,Long Bank,none,,60\n";
    let mut built = one(text, true);
    built.workspace.species[1].also.push("Nil".into());
    let report = built.load().unwrap();
    assert_eq!(refused(&report), []);
    assert_eq!(report.sources[0].visits_without_birds(), 1);
    assert_eq!(dunlins(&built), [Exactly(4), Exactly(0)]);
}

/// A half-year of visits that say themselves that nothing was found was not lost.
#[test]
fn a_half_year_that_says_so_is_no_gap() {
    let spring = "2024-05-01,Long Bank,Dunlin,3,60\n2025-05-01,Long Bank,Dunlin,2,60\n";
    let header = "Date,Place,Species,Number,Minutes\n";
    let mut built = one(&format!("{header}{spring}"), true);
    built.write(
        "visits.csv",
        "Date,Place,Minutes\n2024-05-01,Long Bank,60\n\
        2024-09-01,Long Bank,60\n2025-05-01,Long Bank,60\n",
    );
    built.source("visits", SourceKind::Visits(visit_columns(true)));
    assert_eq!(built.load().unwrap().gaps.len(), 1);
    built.write(
        "counts.csv",
        format!("{header}{spring}2024-09-01,Long Bank,nil,,60\n"),
    );
    assert_eq!(built.load().unwrap().gaps, []);
    assert_eq!(dunlins(&built), [Exactly(3), Exactly(0), Exactly(2)]);
}

/// The diary says that nothing was found, the logbook has a Dunlin.
#[test]
fn two_sources_of_which_one_found_nothing() {
    let header = "Date,Place,Species,Number,Minutes\n";
    let mut built = one(&format!("{header}2025-05-01,Long Bank,nil,,60\n"), true);
    built.write(
        "logbook.csv",
        format!("{header}2025-05-01,Long Bank,Dunlin,2,60\n"),
    );
    built.source("logbook", with_effort(true));
    let report = built.load().unwrap();
    assert_eq!(report.overlaps.len(), 1, "{report}");
    assert_eq!(dunlins(&built), [Exactly(2)]);
    // read from the store it is told as it was from the file
    built.write(
        "logbook.csv",
        format!("{header}2025-05-01,Long Bank,Dunlin,2,60\n\n"),
    );
    assert_eq!(built.load().unwrap().overlaps, report.overlaps);
}

#[test]
fn what_is_passed_on_keeps_the_visit() {
    let built = one(COUNTS, true);
    built.load().unwrap();
    let out = tempfile::tempdir().unwrap();
    let format = ingest::export::Format::Csv;
    ingest::export::export(&built.store(), &built.workspace, format, out.path()).unwrap();
    let workspace = config::load(out.path()).unwrap();
    ingest::load(&workspace, out.path(), now(), &mut |_| {}).unwrap();
    let again = ingest::Store::open_existing(out.path()).unwrap();
    let again = again.history(&workspace, "long-bank").unwrap();
    let before = history(&built);
    assert!(before.visits.iter().eq(again.visits.iter()));
    let (name, series) = before.species.first_key_value().unwrap();
    assert!(series.iter().eq(again.species[name].iter()));
}
