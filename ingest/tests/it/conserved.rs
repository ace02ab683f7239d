//! Whatever a file holds, every row is accepted or refused and every accepted bird is kept.

use crate::workspace::*;
use forecast::series::Count;
use proptest::prelude::*;

fn cell() -> impl Strategy<Value = String> {
    let date =
        (2020..2026, 0..14_u32, 0..33_u32).prop_map(|(y, m, d)| format!("{y}-{m:02}-{d:02}"));
    prop_oneof![
        4 => date,
        4 => "Long Bank|long-bank|Tern  Lagoon|\tTern Lagoon|Dune Wood",
        4 => "Dunlin|calidris minuta|Sterna hirundo|Larus canus|Larus sp.|gull",
        4 => "[0-9]{0,3}|x|[0-9]+\\+|c\\. ?[0-9]{1,3}|-",
        1 => "[ -~\u{e4}\u{20ac}\r\n\t]{0,12}",
    ]
}

fn row() -> impl Strategy<Value = Vec<String>> {
    let sound = (
        2020..2026,
        1..13_u32,
        1..29_u32,
        0..3_usize,
        0..3_usize,
        0..50_u32,
    );
    let sound = sound.prop_map(|(y, m, d, site, species, n)| {
        let site = ["Long Bank", "long-bank", "Tern Lagoon"][site];
        let species = ["Dunlin", "calidris minuta", "Larus canus"][species];
        vec![
            format!("{y}-{m:02}-{d:02}"),
            site.into(),
            species.into(),
            n.to_string(),
        ]
    });
    prop_oneof![2 => sound, 1 => proptest::collection::vec(cell(), 0..6)]
}

fn file(rows: &[Vec<String>]) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new()
        .flexible(true)
        .from_writer(Vec::new());
    writer
        .write_record(["Date", "Place", "Species", "Number"])
        .unwrap();
    for row in rows {
        writer.write_record(row).unwrap();
    }
    writer.into_inner().unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn rows_and_birds_are_conserved(rows in proptest::collection::vec(row(), 1..40)) {
        let built = built().full_counts(file(&rows));
        let Ok(report) = built.load() else {
            prop_assert!(!built.store_folder().exists());
            return Ok(());
        };
        let source = report.source("counts").unwrap();
        prop_assert_eq!(source.accepted + source.refused.len() as u64, source.rows);
        prop_assert_eq!(source.rows + source.blank_rows, rows.len() as u64);
        let told: u64 = source.species.iter().map(|s| s.records).sum();
        prop_assert_eq!(told + source.visits_without_birds(), source.accepted);
        let mut birds = 0;
        for site in &built.workspace.sites {
            let history = built.store().history(&built.workspace, &site.id).unwrap();
            birds += history.species.values().map(|s| s.birds()).sum::<u64>();
        }
        // "Present" is one bird a row in the report, and adds none to counted birds of a visit.
        let least: u64 = birds;
        let told: u64 = source.species.iter().map(|s| s.birds).sum();
        let present = rows.iter().filter(|r| r.get(3).is_some_and(|n| n == "x")).count() as u64;
        prop_assert!(least <= told && told <= least + present, "{} {} {}", least, told, present);
        prop_assert!(built.load().unwrap().unchanged);
    }

    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400), head in any::<bool>()) {
        let header: &[u8] = if head { b"Date,Place,Species,Number\n" } else { b"" };
        let built = built().counts([header, &bytes].concat());
        if let Err(error) = built.load() {
            prop_assert!(!error.to_string().is_empty());
        }
    }
}

#[test]
fn a_count_keeps_its_kind_through_the_store() {
    let built = built().full_counts(
        "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,0\n2025-05-02,Long Bank,Dunlin,7\n\
         2025-05-03,Long Bank,Dunlin,7+\n2025-05-04,Long Bank,Dunlin,~7\n2025-05-05,Long Bank,Dunlin,x\n",
    );
    built.load().unwrap();
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    let counts: Vec<Count> = history.species["Calidris alpina"]
        .iter()
        .map(|(_, c)| c)
        .collect();
    use Count::*;
    assert_eq!(
        counts,
        [Exactly(0), Exactly(7), AtLeast(7), About(7), Present]
    );
}
