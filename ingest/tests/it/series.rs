//! From the store to the models.

use crate::workspace::*;
use config::settings::*;
use forecast::series::Count::{self, *};
use ingest::StoreError;

fn counts(built: &Built, species: &str) -> Vec<Count> {
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    history.species[species]
        .iter()
        .map(|(_, count)| count)
        .collect()
}

#[test]
fn rows_of_one_visit_are_added_up_and_zeros_are_real_where_fully_reported() {
    let built = built()
        .counts(
            "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n2025-05-01,Long Bank,dunlin,4\n\
             2025-05-02,Long Bank,Dunlin,x\n2025-05-02,Long Bank,Dunlin,5\n\
             2025-05-04,Long Bank,Little Stint,1\n2025-05-05,Tern Lagoon,Dunlin,9\n\
             2025-05-06,Long Bank,Dunlin,none\n",
        )
        .visits("Date,Place\n2025-05-03,Long Bank\n2025-05-02,Long Bank\n2025-05-01,Long Bank\n");
    built.load().unwrap();
    // 4 and 6 May stand in no visits table: of Dunlin, only the written zero of the 6th is known.
    let dunlin = [Exactly(7), AtLeast(5), Exactly(0), Unknown, Exactly(0)];
    assert_eq!(counts(&built, "Calidris alpina"), dunlin);
    let stint = [Exactly(0), Exactly(0), Exactly(0), Exactly(1), Unknown];
    assert_eq!(counts(&built, "Calidris minuta"), stint);
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    let unrecorded: Vec<Count> = history.unrecorded.iter().map(|(_, c)| c).collect();
    assert_eq!(
        unrecorded,
        [Exactly(0), Exactly(0), Exactly(0), Unknown, Unknown]
    );
    assert_eq!(history.partial_visits, 2);
    let span = (Some(day("2025-05-01")), Some(day("2025-05-06")));
    assert_eq!((history.first_visit, history.last_visit), span);
    assert_eq!(
        built.store().last_visit("tern-lagoon").unwrap(),
        Some(day("2025-05-05"))
    );
}

#[test]
fn without_visits_or_full_reporting_a_missing_row_says_nothing() {
    let text = "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n2025-05-02,Long Bank,Little Stint,4\n";
    let partial = built().counts(text);
    partial.load().unwrap();
    assert_eq!(counts(&partial, "Calidris alpina"), [Exactly(3), Unknown]);
    let full = built().full_counts(text);
    full.load().unwrap();
    assert_eq!(counts(&full, "Calidris alpina"), [Exactly(3), Exactly(0)]);
}

#[test]
fn one_row_a_bird() {
    let mut built = built();
    built.write(
        "counts.csv",
        "Date,Genus,Species\n2025-05-01,calidris,alpina\n2025-05-01,Calidris,alpina\n",
    );
    let columns = CountColumns {
        site: None,
        count: None,
        species: SpeciesColumns::GenusEpithet("Genus".into(), "Species".into()),
        ..count_columns()
    };
    built.source("counts", SourceKind::Counts(columns)).site = Some("long-bank".into());
    let report = built.load().unwrap();
    assert_eq!(
        report.source("counts").unwrap().repairs[0].column,
        "Genus and Species"
    );
    assert_eq!(counts(&built, "Calidris alpina"), [Exactly(2)]);
}

#[test]
fn effort_is_relative_to_the_standard_visit() {
    let mut built = built()
        .counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n")
        .visits(
            "Date,Place,Minutes\n2025-05-01,Long Bank,60\n2025-05-02,Long Bank,120\n\
             2025-05-03,Long Bank,30\n2025-05-04,Long Bank,\n",
        );
    built.load().unwrap();
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    assert_eq!(history.standard_effort, Some(60.0));
    let ratios: Vec<f64> = history.visits.iter().map(|v| v.log_effort_ratio).collect();
    let ln2 = std::f64::consts::LN_2;
    for (ratio, expected) in ratios.iter().zip([0.0, ln2, -ln2, 0.0]) {
        assert!((ratio - expected).abs() < 1e-12, "{ratios:?}");
    }
    built.workspace.sites[0].standard_effort = Some(120.0);
    let other = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    assert!(other.visits[1].log_effort_ratio.abs() < 1e-12);
    assert_ne!(other.fingerprint, history.fingerprint);
}

#[test]
fn counts_that_add_up_to_too_many_are_told() {
    let built = built().full_counts(
        "Date,Place,Species,Number\n".to_owned()
            + &"2025-05-01,Long Bank,Dunlin,100000000\n".repeat(43),
    );
    built.load().unwrap();
    let error = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap_err();
    assert!(matches!(error, StoreError::TooManyBirds { .. }), "{error}");
    let error = built.store().history(&built.workspace, "bank").unwrap_err();
    assert_eq!(
        error.to_string(),
        "there is no site \"bank\"; the sites are \"long-bank\", \"tern-lagoon\""
    );
}

#[test]
fn temperatures_of_a_site_go_before_those_of_all() {
    let mut built = built().counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n");
    built.write(
        "everywhere.csv",
        "day;mean\n2025-05-02;3,5\n2025-05-01;-4.4\n2025-05-01;7\n2025-05-03;NA\n",
    );
    built.write("bank.csv", "day,mean\n2025-05-01,9\n");
    let columns = TemperatureColumns {
        date: "day".into(),
        site: None,
        mean: Some("mean".into()),
        extremes: None,
        unit: TemperatureUnit::Celsius,
    };
    built.source("everywhere", SourceKind::Temperature(columns.clone()));
    built.source("bank", SourceKind::Temperature(columns)).site = Some("long-bank".into());
    let report = built.load().unwrap();
    let refused: Vec<u64> = report
        .source("everywhere")
        .unwrap()
        .refused
        .iter()
        .map(|r| r.line)
        .collect();
    assert_eq!(refused, [4, 5]);
    let store = built.store();
    let means = |site| store.temperature(site).unwrap();
    assert_eq!(
        means("long-bank"),
        [(day("2025-05-01"), 9.0), (day("2025-05-02"), 3.5)]
    );
    assert_eq!(
        means("tern-lagoon"),
        [(day("2025-05-01"), -4.4), (day("2025-05-02"), 3.5)]
    );
}
