//! What a load says and does.

use crate::workspace::*;
use config::settings::*;
use ingest::report::{HalfYear, RepairKind, Zeros};

const COUNTS: &str = "Date,Place,Species,Number\n\
    2025-05-01,Long Bank,Calidris minuta,3\n\
    2025-05-01,long-bank, calidris  minuta,2+\n\
    2025-05-02,Long Bank,Dunlin,c. 40\n\
    2025-05-02,Long Bank,Calidris minutta,x\n\
    2025-05-02,Long Bank,Larus sp.,4\n\
    2025-05-32,Long Bank,Dunlin,4\n\
    2025-05-03,Long Bonk,Dunlin,4\n\
    2025-05-03,Long Bank,Dunlin,\"1,200\"\n\
    2025-05-03,Long Bank,Dunlin\n\
    ,,,\n";

#[test]
fn every_row_is_accounted_for() {
    let report = built().counts(COUNTS).load().unwrap();
    let source = report.source("counts").unwrap();
    assert_eq!((source.rows, source.blank_rows, source.accepted), (9, 1, 4));
    let refused: Vec<_> = source
        .refused
        .iter()
        .map(|r| (r.line, r.column.as_str(), r.value.as_str(), r.kept_back))
        .collect();
    let expected = [
        (6, "Species", "Larus sp.", true),
        (7, "Date", "2025-05-32", false),
        (8, "Place", "Long Bonk", false),
        (9, "Number", "1,200", false),
        (10, "", "2025-05-03 | Long Bank | Dunlin", false),
    ];
    assert_eq!(refused, expected);
    assert!(
        source.refused[2]
            .reason
            .contains("the nearest is \"Long Bank\"")
    );
    assert_eq!(source.refused[4].reason, "3 cells where the header has 4");
    assert_eq!(source.repaired, 1);
    assert_eq!(source.rows_repaired(RepairKind::Case), 1);
    assert_eq!(source.rows_repaired(RepairKind::Spaces), 1);
    assert_eq!(source.repairs[0].examples[0].written, " calidris  minuta");
    let unlisted = source.species.iter().find(|s| !s.listed).unwrap();
    assert_eq!(unlisted.name, "Calidris minutta");
    assert_eq!(unlisted.nearest.as_deref(), Some("Calidris minuta"));
    assert_eq!(
        (unlisted.first_line, unlisted.records, unlisted.birds),
        (5, 1, 1)
    );
    let total = source
        .species
        .iter()
        .find(|s| s.name == "Calidris minuta")
        .unwrap();
    assert_eq!((total.records, total.birds), (2, 5));
}

#[test]
fn the_report_is_readable_in_eighty_columns_and_bounded() {
    let mut text = COUNTS.to_owned();
    for day in 1..=28 {
        text += &format!("2025-02-{day:02},Long Bank,Some Unlisted Vernacular Name {day},1\n");
        text += &format!("2025-02-{day:02}T06:00,Long Bank,Dunlin,1\n");
    }
    let report = built().counts(text).load().unwrap();
    let page = report.to_string();
    assert!(page.lines().all(|l| l.chars().count() <= 80), "{page}");
    assert!(page.lines().count() < 70, "{page}");
    for part in [
        "65 rows read",
        "32 accepted, 29 of them repaired; 32 refused, 1 kept back",
        "line 9, Number \"1,200\": a decimal or a thousands separator",
        "and 22 more",
        "time of day left out in Date, 28 rows from line 13",
        "Kept back, as they belong to no one species:",
        "nearest listed: Calidris minuta",
        "    fully_reported = true",
    ] {
        assert!(page.contains(part), "{part}\n{page}");
    }
    let json = serde_json::to_string(&report).unwrap();
    let again: ingest::LoadReport = serde_json::from_str(&json).unwrap();
    assert_eq!(again, report);
    assert_eq!(again.refused(), 33);
}

#[test]
fn loading_again_changes_nothing_and_says_so() {
    let built = built().counts(COUNTS);
    let first = built.load().unwrap();
    let (ledger, files) = (
        std::fs::read(built.store().ledger_path()).unwrap(),
        built.batch_files(),
    );
    let later = "2026-04-01T12:00:00Z".parse().unwrap();
    let again = ingest::load(&built.workspace, &built.root(), later, &mut |_| {}).unwrap();
    assert!(again.unchanged && again.sources[0].unchanged && !first.unchanged);
    assert_eq!(again.loaded_at, first.loaded_at);
    assert_eq!(
        again.source("counts").unwrap().refused,
        first.source("counts").unwrap().refused
    );
    assert_eq!(std::fs::read(built.store().ledger_path()).unwrap(), ledger);
    assert_eq!(built.batch_files(), files);
    assert!(again.to_string().starts_with("Nothing to do"));
}

#[test]
fn a_changed_file_replaces_its_rows_and_leaves_the_others() {
    let built = built()
        .counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n")
        .visits("Date,Place\n2025-05-01,Long Bank\n");
    built.load().unwrap();
    built.write(
        "counts.csv",
        "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,5\n",
    );
    let report = built.load().unwrap();
    assert!(!report.unchanged && !report.sources[0].unchanged && report.sources[1].unchanged);
    assert_eq!(report.site("long-bank").unwrap().zeros, Zeros::Known);
    let history = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    assert_eq!(history.species["Calidris alpina"].birds(), 5);
    // both sources' rows, and those that were replaced
    assert_eq!(built.batch_files().len(), 3);
}

#[test]
fn a_changed_setting_is_a_change() {
    let mut built = built().counts(
        "Date,Place,Species,Number\n2025-05-01,Long Bank,stint,3\n\
        2025-05-01,Long Bank,Dunlin,3\n",
    );
    assert_eq!(built.load().unwrap().refused(), 1);
    built.workspace.species[0].also.push("Stint".into());
    let report = built.load().unwrap();
    assert_eq!((report.refused(), report.unchanged), (0, false));
}

#[test]
fn a_source_that_is_no_longer_listed_is_taken_out() {
    let mut built = built()
        .counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n")
        .visits("Date,Place\n2025-05-01,Long Bank\n2025-05-02,Long Bank\n");
    built.load().unwrap();
    built.workspace.sources.pop();
    let report = built.load().unwrap();
    assert_eq!(report.removed_sources, ["visits"]);
    assert_eq!(report.site("long-bank").unwrap().visits, 1);
    assert_eq!(built.batch_files().len(), 1);
    assert!(built.load().unwrap().removed_sources.is_empty());
}

#[test]
fn without_full_reporting_zeros_are_unknown_and_an_offer_is_made() {
    let mut built = built().counts(COUNTS);
    let report = built.load().unwrap();
    assert_eq!(report.site("long-bank").unwrap().zeros, Zeros::Unknown);
    assert_eq!(report.site("tern-lagoon").unwrap().zeros, Zeros::NoVisits);
    assert_eq!(report.offers.len(), 1);
    assert_eq!(report.offers[0].sites, ["long-bank"]);
    assert_eq!(report.offers[0].line, "fully_reported = true");
    let SourceKind::Counts(columns) = &mut built.workspace.sources[0].kind else {
        panic!()
    };
    columns.fully_reported = true;
    let report = built.load().unwrap();
    // But for the 3rd, one of whose rows lacks a cell and may be of any species.
    assert_eq!(report.site("long-bank").unwrap().zeros, Zeros::Partly);
    assert!(report.offers.is_empty());
}

#[test]
fn a_half_year_without_records_is_told_as_a_gap() {
    let built = built()
        .counts("Date,Place,Species,Number\n2024-05-01,Long Bank,Dunlin,3\n2025-05-01,Long Bank,Dunlin,3\n")
        .visits("Date,Place\n2024-05-01,Long Bank\n2024-09-01,Long Bank\n2024-09-02,Long Bank\n\
            2025-05-01,Long Bank\n2025-05-02,Long Bank\n");
    let report = built.load().unwrap();
    assert_eq!(report.gaps.len(), 1);
    assert_eq!(
        (report.gaps[0].half, report.gaps[0].visits),
        (
            HalfYear {
                year: 2024,
                half: 2
            },
            2
        )
    );
    assert_eq!(report.site("long-bank").unwrap().gap_visits, 2);
    assert!(
        report
            .to_string()
            .contains("long-bank: July-December 2024 (2 visit dates)")
    );
    let store = built.store();
    assert_eq!(store.gaps().unwrap(), report.gaps);
    let history = store.history(&built.workspace, "long-bank").unwrap();
    assert_eq!(history.visits.len(), 3);
}

#[test]
fn dates_that_the_visits_table_lacks_are_told() {
    let report = built()
        .counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n2025-05-02,Long Bank,Dunlin,3\n")
        .visits("Date,Place\n2025-05-01,Long Bank\n2025-05-01,Long Bank\n")
        .load()
        .unwrap();
    let site = report.site("long-bank").unwrap();
    assert_eq!(site.dates_without_visit, [day("2025-05-02")]);
    assert_eq!(
        (site.visits, site.fully_reported, site.zeros),
        (2, 1, Zeros::Partly)
    );
    assert!(report.offers.is_empty());
    let notes = &report.source("visits").unwrap().notes;
    let told = "Visit dates that stand more than once, taken as one visit each: 1 (first: long-bank, 2025-05-01).";
    assert_eq!(notes[0].text, told);
}

#[test]
fn files_as_people_keep_them() {
    let mut built = built();
    let source = built.source("counts", SourceKind::Counts(count_columns()));
    source.date_order = Some(DateOrder::DayMonthYear);
    source
        .site_names
        .insert("Möweninsel".into(), "long-bank".into());
    let utf8 = "date;PLACE ;Species;Number;;\r\n31.05.2025;Möweninsel;Dunlin;3;;\r\n";
    let windows: Vec<u8> = utf8.chars().map(|c| c as u32 as u8).collect();
    let marked = [b"\xef\xbb\xbf", utf8.as_bytes()].concat();
    let mut utf16 = vec![0xff, 0xfe];
    utf16.extend(utf8.encode_utf16().flat_map(u16::to_le_bytes));
    for (bytes, encoding) in [
        (utf8.as_bytes(), "UTF-8"),
        (&windows, "windows-1252"),
        (&marked, "UTF-8"),
        (&utf16, "UTF-16LE"),
    ] {
        built.write("counts.csv", bytes);
        let report = built.load().unwrap();
        let source = report.source("counts").unwrap();
        assert_eq!((source.encoding.as_str(), source.accepted), (encoding, 1));
        assert_eq!(source.separator, "semicolons");
        assert_eq!(source.rows_repaired(RepairKind::EmptyCells), 1);
        assert!(
            source
                .notes
                .iter()
                .any(|n| n.text.contains("\"PLACE \" was taken as \"Place\""))
        );
    }
}

#[test]
fn rows_in_the_future_are_refused_until_their_day_has_come() {
    let built = built().counts(
        "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n\
        2026-03-05,Long Bank,Dunlin,3\n",
    );
    assert_eq!(
        built.load().unwrap().source("counts").unwrap().refused[0].reason,
        "in the future"
    );
    assert!(built.load().unwrap().unchanged);
    let later = "2026-03-06T00:00:00Z".parse().unwrap();
    let report = ingest::load(&built.workspace, &built.root(), later, &mut |_| {}).unwrap();
    assert_eq!((report.refused(), report.unchanged), (0, false));
}
