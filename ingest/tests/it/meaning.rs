//! What rows mean: refused rows, purposes, partial visits, several observers, looks.

use crate::workspace::*;
use config::meaning::{KeepObservers, ObserverRule, Purpose};
use config::settings::*;
use forecast::series::Count::{self, *};
use ingest::store::SiteHistory;

fn history(built: &Built) -> SiteHistory {
    let store = built.store();
    store.history(&built.workspace, "long-bank").unwrap()
}

fn counts(built: &Built, species: &str) -> Vec<Count> {
    let history = history(built);
    let series = history.species.get(species).unwrap_or(&history.unrecorded);
    series.iter().map(|(_, count)| count).collect()
}

fn notes(built: &Built, source: &str) -> Vec<String> {
    let report = built.load().unwrap();
    let notes = &report.source(source).unwrap().notes;
    notes.iter().map(|n| n.text.clone()).collect()
}

fn changed(built: &mut Built, source: usize, change: impl FnOnce(&mut Source)) {
    change(&mut built.workspace.sources[source]);
}

#[test]
fn a_refused_number_leaves_its_species_unknown_and_no_other() {
    let built = built().full_counts(
        "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,lots\n\
         2025-05-02,Long Bank,Dunlin,3\n2025-05-02,Long Bank,Dunlin,many\n\
         2025-05-03,Long Bank,Little Stint,1\n",
    );
    let told = notes(&built, "counts");
    assert_eq!(
        counts(&built, "Calidris alpina"),
        [Unknown, AtLeast(3), Exactly(0)]
    );
    assert_eq!(
        counts(&built, "Calidris minuta"),
        [Exactly(0), Exactly(0), Exactly(1)]
    );
    assert_eq!(
        told,
        [
            "Species left unknown on a visit rather than not found, as a row of theirs is refused or doubtful: 2."
        ]
    );
    // The store has it, so that loading again tells the same.
    assert!(built.load().unwrap().unchanged);
    assert_eq!(history(&built).partial_visits, 0);
}

#[test]
fn a_refused_name_leaves_unknown_what_it_may_have_meant() {
    let built = built().full_counts(
        "Date,Place,Species,Number\n\
         2025-05-01,Long Bank,Litle Stint,2\n2025-05-01,Long Bank,Dunlin,1\n\
         2025-05-02,Long Bank,LITST,2\n2025-05-02,Long Bank,Dunlin,1\n\
         2025-05-03,Long Bank,Blackbird,2\n2025-05-03,Long Bank,Dunlin,1\n\
         2025-05-04,Long Bank,Calidris minutta,2\n2025-05-04,Long Bank,Dunlin,1\n\
         2025-05-05,Long Bank\n2025-05-05,Long Bank,Dunlin,1\n",
    );
    let report = built.load().unwrap();
    let refused: Vec<_> = report
        .source("counts")
        .unwrap()
        .refused
        .iter()
        .map(|r| r.line)
        .collect();
    assert_eq!(refused, [2, 4, 6, 10]);
    let reason = &report.source("counts").unwrap().refused[0].reason;
    assert!(
        reason.contains("the nearest is \"Little Stint\""),
        "{reason}"
    );
    let stint = [Unknown, Unknown, Exactly(0), Unknown, Unknown];
    assert_eq!(counts(&built, "Calidris minuta"), stint);
    let tern = [Exactly(0), Unknown, Exactly(0), Exactly(0), Unknown];
    assert_eq!(counts(&built, "Sterna hirundo"), tern);
    assert_eq!(history(&built).partial_visits, 2);
    let told = &report.source("counts").unwrap().notes;
    let partial = "Visits not fully reported, as a row of theirs may be of any species: 2.";
    assert!(told.iter().any(|n| n.text == partial), "{told:?}");
}

#[test]
fn a_visit_whose_only_row_is_refused_was_made_all_the_same() {
    let built = built().full_counts(
        "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n2025-05-02,Long Bank,Dunlin,?\n",
    );
    built.load().unwrap();
    assert_eq!(counts(&built, "Calidris alpina"), [Exactly(3), Unknown]);
    assert_eq!(counts(&built, "Sterna hirundo"), [Exactly(0), Exactly(0)]);
}

#[test]
fn an_empty_effort_is_told() {
    let built = built()
        .counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n")
        .visits("Date,Place,Minutes\n2025-05-01,Long Bank,60\n2025-05-02,Long Bank,\n");
    let told = notes(&built, "visits");
    assert_eq!(
        told,
        [
            "1 row has nothing in \"Minutes\"; its visit, where no other row tells its effort, is taken as \
          standard in length."
        ]
    );
}

const PURPOSES: &str = "Date,Place,Species,Number,Why\n\
    2025-05-01,Long Bank,Dunlin,3,survey\n2025-05-02,Long Bank,Dunlin,40,Twitch\n\
    2025-05-03,Long Bank,Dunlin,5,\n2025-05-04,Long Bank,Dunlin,6,surveyy\n\
    2025-05-03,Long Bank,Little Stint,2,twitch\n";

fn with_purposes() -> Built {
    let mut built = built().full_counts(PURPOSES);
    changed(&mut built, 0, |source| {
        source.meaning.columns.purpose = Some("Why".into());
        source.meaning.words.targeted = vec!["twitch".into()];
    });
    built
}

#[test]
fn targeted_visits_are_seen_and_left_out_of_the_series() {
    let mut built = with_purposes();
    let report = built.load().unwrap();
    let refused = &report.source("counts").unwrap().refused;
    assert_eq!(refused.len(), 1);
    assert_eq!(
        refused[0].to_string(),
        "line 5, Why \"surveyy\": none of the words \"standard\", \"survey\", \"count\", \
         \"twitch\"; the nearest is \"survey\""
    );
    // The refused row of the 4th is of a visit all the same.
    assert_eq!(
        counts(&built, "Calidris alpina"),
        [Exactly(3), Exactly(5), Unknown]
    );
    // The targeted search of the 3rd makes no stint of the standard one.
    assert_eq!(
        counts(&built, "Calidris minuta"),
        [Exactly(0), Exactly(0), Exactly(0)]
    );
    let seen: Vec<_> = history(&built)
        .targeted
        .into_iter()
        .map(|s| (s.date, s.species, s.count))
        .collect();
    let expected = [
        (day("2025-05-02"), "Calidris alpina".to_owned(), Exactly(40)),
        (day("2025-05-03"), "Calidris minuta".to_owned(), Exactly(2)),
    ];
    assert_eq!(seen, expected);
    let site = report.site("long-bank").unwrap();
    assert_eq!((site.visits, site.targeted), (3, 1));
    assert!(
        report
            .to_string()
            .contains("1 further visit date targeted alone"),
        "{report}"
    );
    let before = history(&built).fingerprint;
    built.workspace.records.use_targeted = true;
    let all = [Exactly(3), Exactly(40), Exactly(5), Unknown];
    assert_eq!(counts(&built, "Calidris alpina"), all);
    assert_ne!(history(&built).fingerprint, before);
}

#[test]
fn a_source_of_targeted_visits() {
    let mut built = built()
        .full_counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n")
        .visits("Date,Place\n2025-05-01,Long Bank\n2025-05-02,Long Bank\n");
    built.write(
        "finds.csv",
        "Date,Place,Species,Number\n2025-05-02,Long Bank,Dunlin,9\n",
    );
    built
        .source("finds", SourceKind::Counts(count_columns()))
        .meaning
        .purpose = Some(Purpose::Targeted);
    built.load().unwrap();
    assert_eq!(counts(&built, "Calidris alpina"), [Exactly(3), Exactly(0)]);
    assert_eq!(history(&built).targeted.len(), 1);
}

#[test]
fn counts_follow_the_purpose_of_their_visits_table() {
    let mut built = built()
        .full_counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n2025-05-02,Long Bank,Dunlin,4\n")
        .visits("Date,Place,Minutes,Why\n2025-05-01,Long Bank,60,targeted\n2025-05-02,Long Bank,30,\n\
                 2025-05-02,Long Bank,600,targeted\n");
    changed(&mut built, 1, |source| {
        source.meaning.columns.purpose = Some("Why".into())
    });
    built.load().unwrap();
    assert_eq!(counts(&built, "Calidris alpina"), [Exactly(4)]);
    // The targeted hours of the 2nd are no effort of its standard search.
    assert_eq!(history(&built).standard_effort, Some(30.0));
    assert_eq!(
        built.store().last_visit("long-bank").unwrap(),
        Some(day("2025-05-02"))
    );
}

#[test]
fn partial_visits_know_written_zeros_alone() {
    let mut built = built().full_counts(
        "Date,Place,Species,Number,All,Status\n\
         2025-05-01,Long Bank,Dunlin,3,yes,present\n2025-05-02,Long Bank,Dunlin,3,No,\n\
         2025-05-02,Long Bank,Little Stint,,,absent\n2025-05-03,Long Bank,Dunlin,0,,\n\
         2025-05-04,Long Bank,Dunlin,3,,absent\n2025-05-05,Long Bank,Dunlin,,,present\n",
    );
    changed(&mut built, 0, |source| {
        source.meaning.columns.fully_reported = Some("All".into());
        source.meaning.columns.status = Some("Status".into());
    });
    let report = built.load().unwrap();
    let refused = &report.source("counts").unwrap().refused;
    assert_eq!(refused.len(), 1);
    assert_eq!(
        refused[0].to_string(),
        "line 6, Number \"3\": the row's status says absent"
    );
    let dunlin = [Exactly(3), Exactly(3), Exactly(0), Unknown, Present];
    assert_eq!(counts(&built, "Calidris alpina"), dunlin);
    // The 2nd is partial: the stint is a written zero, the tern is unknown.
    assert_eq!(
        counts(&built, "Calidris minuta")[..3],
        [Exactly(0), Exactly(0), Exactly(0)]
    );
    assert_eq!(
        counts(&built, "Sterna hirundo")[..3],
        [Exactly(0), Unknown, Exactly(0)]
    );
}

#[test]
fn what_a_visits_table_says_of_a_visit_goes_before_the_source() {
    let mut built = built()
        .full_counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n2025-05-02,Long Bank,Dunlin,4\n")
        .visits("Date,Place,All\n2025-05-01,Long Bank,no\n2025-05-02,Long Bank,\n");
    changed(&mut built, 1, |source| {
        source.meaning.columns.fully_reported = Some("All".into())
    });
    built.load().unwrap();
    assert_eq!(counts(&built, "Sterna hirundo"), [Unknown, Exactly(0)]);
}

const PARTIES: &str = "Date,Place,Species,Number,Who,Minutes\n\
    2025-05-01,Long Bank,Dunlin,30,Ann Warden,60\n2025-05-01,Long Bank,Dunlin,12,Ann Warden,60\n\
    2025-05-01,Long Bank,Dunlin,40,B. Keeper,45\n2025-05-01,Long Bank,Little Stint,1,b.  keeper,45\n\
    2025-05-02,Long Bank,Dunlin,7,Ann Warden,60\n2025-05-03,Long Bank,Dunlin,7,,60\n";

fn with_parties(rule: Option<ObserverRule>) -> Built {
    let mut built = built().full_counts(PARTIES);
    changed(&mut built, 0, |source| {
        source.meaning.columns.observer = Some("Who".into());
        source.meaning.observers = rule;
        let SourceKind::Counts(columns) = &mut source.kind else {
            panic!()
        };
        columns.effort = Some("Minutes".into());
    });
    built
}

#[test]
fn several_observers_add_up_or_see_the_same_birds() {
    let built = with_parties(None);
    let told = notes(&built, "counts");
    assert_eq!(
        told,
        [
            "Visit dates with several observers, whose counts and efforts are added up; if they saw the \
          same birds, write observers = \"largest\" under the source. They number: 1 (first: \
          long-bank, 2025-05-01)."
        ]
    );
    assert_eq!(
        counts(&built, "Calidris alpina"),
        [Exactly(82), Exactly(7), Exactly(7)]
    );
    let ratio = history(&built).visits[0].log_effort_ratio;
    assert!((ratio - (105.0_f64 / 60.0).ln()).abs() < 1e-12, "{ratio}");
    let built = with_parties(Some(ObserverRule::Largest));
    built.load().unwrap();
    // Rows of one observer still add up: 30 and 12 are 42, more than 40.
    assert_eq!(
        counts(&built, "Calidris alpina"),
        [Exactly(42), Exactly(7), Exactly(7)]
    );
    assert_eq!(
        counts(&built, "Calidris minuta"),
        [Exactly(1), Exactly(0), Exactly(0)]
    );
    assert!(history(&built).visits[0].log_effort_ratio.abs() < 1e-12);
    assert!(built.load().unwrap().unchanged);
}

#[test]
fn names_of_observers_are_nowhere_unless_kept() {
    let mut built = with_parties(None);
    built.write(
        "counts.csv",
        format!("{PARTIES}2025-05-04,Long Bank,Dunlin,1,Ann Warden\n"),
    );
    let report = built.load().unwrap();
    let words = format!("{report}{}", serde_json::to_string(&report).unwrap());
    let store = |built: &Built| {
        let mut all = std::fs::read(built.store().ledger_path()).unwrap();
        built
            .batch_files()
            .iter()
            .for_each(|(_, bytes)| all.extend(bytes));
        String::from_utf8_lossy(&all).to_lowercase()
    };
    for text in [words.to_lowercase(), store(&built)] {
        assert!(!text.contains("warden") && !text.contains("keeper"));
    }
    assert!(
        report.source("counts").unwrap().refused[0]
            .value
            .ends_with("Dunlin | 1 | ...")
    );
    built.workspace.records.keep_observers = KeepObservers::Names;
    assert!(!built.load().unwrap().unchanged);
    built.workspace.records.keep_observers = KeepObservers::None;
    built.load().unwrap();
}

#[test]
fn ages_of_one_species_add_up() {
    let mut built = built().full_counts(
        "Date,Place,Species,Number,Age,Sex,Plumage\n2025-08-01,Long Bank,Dunlin,3,juv,,\n\
         2025-08-01,Long Bank,Dunlin,5,adult,,adult summer\n2025-08-01,Long Bank,Dunlin,1,2cy,m,moulting\n",
    );
    changed(&mut built, 0, |source| {
        let columns = &mut source.meaning.columns;
        columns.age = Some("Age".into());
        columns.sex = Some("Sex".into());
        columns.plumage = Some("Plumage".into());
    });
    built.load().unwrap();
    assert_eq!(counts(&built, "Calidris alpina"), [Exactly(9)]);
    let looks = built.store().looks("long-bank", "Calidris alpina").unwrap();
    let looks: Vec<_> = looks
        .iter()
        .map(|l| (l.plumage.as_deref(), l.age.as_deref(), l.count))
        .collect();
    let expected = [
        (Some("juvenile"), Some("juv"), Exactly(3)),
        (Some("adult-breeding"), Some("adult"), Exactly(5)),
        (Some("male"), Some("2cy"), Exactly(1)),
    ];
    assert_eq!(looks, expected);
}
