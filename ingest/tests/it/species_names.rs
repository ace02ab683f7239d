//! Names through the whole load: undecided birds, dated synonyms, languages, subspecies.

use crate::workspace::*;
use config::meaning::{DatedName, Undecided};
use config::settings::*;
use forecast::series::Count::{self, *};

fn counts(built: &Built, species: &str) -> Vec<Count> {
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    history.species[species].iter().map(|(_, c)| c).collect()
}

#[test]
fn birds_left_undecided_are_kept_apart() {
    let mut built = built().full_counts(
        "Date,Place,Species,Number\n2025-05-01,Long Bank,Calidris minuta/alpina,3\n\
         2025-05-01,Long Bank,Dunlin,10\n2025-05-02,Long Bank,small wader,c. 40\n\
         2025-05-02,Long Bank,Dunlin?,1\n2025-05-03,Long Bank,Calidris alpina x minuta,1\n\
         2025-05-03,Long Bank,Little Stint,2\n",
    );
    built.workspace.records.undecided.push(Undecided {
        name: "Small wader".into(),
        between: vec!["Calidris minuta".into(), "Calidris alpina".into()],
    });
    let report = built.load().unwrap();
    let source = report.source("counts").unwrap();
    // The hybrid belongs to no one species and is kept back.
    assert_eq!((source.accepted, source.refused.len()), (5, 1));
    assert!(source.refused[0].kept_back);
    let told: Vec<&str> = source.notes.iter().map(|n| n.text.as_str()).collect();
    let undecided = "Records undecided between Calidris alpina, Calidris minuta, kept apart: 2.";
    assert!(told.contains(&undecided), "{told:?}");
    assert!(
        told.contains(&"Doubtful records of Calidris alpina, kept apart: 1."),
        "{told:?}"
    );
    // Undecided birds were not named; a doubtful Dunlin leaves the Dunlin unknown.
    assert_eq!(
        counts(&built, "Calidris minuta"),
        [Exactly(0), Exactly(0), Exactly(2)]
    );
    assert_eq!(
        counts(&built, "Calidris alpina"),
        [Exactly(10), Unknown, Exactly(0)]
    );
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    let kept: Vec<_> = history
        .undecided
        .iter()
        .map(|u| (u.between.len(), u.count))
        .collect();
    assert_eq!(kept, [(2, Exactly(3)), (2, About(40)), (1, Exactly(1))]);
}

#[test]
fn a_column_of_doubts() {
    let mut built = built().full_counts(
        "Date,Place,Species,Number,Doubt\n2025-05-01,Long Bank,Calidris minuta,3,cf.\n\
         2025-05-01,Long Bank,Calidris minuta,1,\n2025-05-02,Long Bank,Calidris,2,minuta/alpina\n\
         2025-05-02,Long Bank,Dunlin,4,\n",
    );
    built.workspace.sources[0].meaning.columns.qualifier = Some("Doubt".into());
    assert_eq!(built.load().unwrap().refused(), 0);
    // One for certain, and three that may be more of them.
    assert_eq!(counts(&built, "Calidris minuta"), [AtLeast(1), Exactly(0)]);
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    let kept: Vec<_> = history
        .undecided
        .iter()
        .map(|u| (u.between.len(), u.count))
        .collect();
    assert_eq!(kept, [(1, Exactly(3)), (2, Exactly(2))]);
}

/// A name that meant a lump before a split: at this site, the common of the two.
#[test]
fn a_name_means_what_it_meant_on_its_date() {
    let mut built = built().full_counts(
        "Date,Place,Species,Number\n1999-05-01,Long Bank,Sterna Maxima,3\n\
         2010-05-01,Long Bank,Sterna maxima,4\n2010-05-01,Long Bank,Common Tern,1\n",
    );
    built.workspace.species[2].synonyms.push(DatedName {
        name: "Sterna maxima".into(),
        since: None,
        until: Some(day("2003-12-31")),
    });
    let report = built.load().unwrap();
    assert_eq!(counts(&built, "Sterna hirundo"), [Exactly(3), Exactly(1)]);
    assert_eq!(counts(&built, "Sterna maxima"), [Exactly(0), Exactly(4)]);
    let repair = &report.source("counts").unwrap().repairs[0].examples[0];
    assert_eq!(
        (repair.written.as_str(), repair.read_as.as_str()),
        ("Sterna Maxima", "Sterna hirundo")
    );
}

#[test]
fn every_language_and_every_subspecies() {
    let mut built = built().full_counts(
        "Date,Place,Species,Number\n2025-05-01,Long Bank,ALPENSTRANDLÄUFER,3\n\
         2025-05-01,Long Bank,Calidris alpina schinzii,2\n2025-05-01,Long Bank,Bécasseau variable,1\n",
    );
    let names = &mut built.workspace.species[1].names;
    names.insert("de".into(), "Alpenstrandläufer".into());
    names.insert("fr".into(), "Bécasseau variable".into());
    assert_eq!(built.load().unwrap().refused(), 0);
    assert_eq!(counts(&built, "Calidris alpina"), [Exactly(6)]);
}

#[test]
fn genus_and_epithet_in_two_columns_with_doubts_and_dates() {
    let mut built = built();
    built.write(
        "counts.csv",
        "Date,Genus,Species,Doubt\n2025-05-01,calidris,alpina,\n2025-05-01,Calidris,alpina,?\n",
    );
    let columns = CountColumns {
        site: None,
        count: None,
        species: SpeciesColumns::GenusEpithet("Genus".into(), "Species".into()),
        ..count_columns()
    };
    let source = built.source("counts", SourceKind::Counts(columns));
    source.site = Some("long-bank".into());
    source.meaning.columns.qualifier = Some("Doubt".into());
    let report = built.load().unwrap();
    assert_eq!(counts(&built, "Calidris alpina"), [AtLeast(1)]);
    let repair = &report.source("counts").unwrap().repairs[0];
    assert_eq!(
        (repair.column.as_str(), repair.examples[0].written.as_str()),
        ("Genus and Species", "calidris alpina")
    );
}
