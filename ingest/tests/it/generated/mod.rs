//! Whatever a table looks like, each of its rows is taken, refused, or told as something else; none
//! is lost, doubled or invented.

mod tables;
mod written;

use crate::formats::{counts_in, stored};
use crate::workspace::Built;
use config::settings::*;
use ingest::LoadReport;
use proptest::prelude::*;
use std::ops::Range;
use tables::{Generated, generated};
use written::{Told, file};

/// A workspace with those lines of the table in a file each, all of them one source.
fn built(table: &Generated, ranges: &[Range<usize>]) -> (Built, Vec<Told>) {
    let (bytes, told) = file(table, ranges[0].clone());
    let mut built = counts_in("counts/1.csv", bytes);
    let mut all = vec![told];
    for (range, number) in ranges[1..].iter().zip(2..) {
        let (bytes, told) = file(table, range.clone());
        built.write(&format!("counts/{number}.csv"), bytes);
        all.push(told);
    }
    let folder = built.root().join("counts");
    let source = &mut built.workspace.sources[0];
    source.path = folder;
    if table.shape.wide {
        source.layout.wide = Some(Wide::Species);
        source.layout.leave_out = vec!["Remarks".into()];
        if let SourceKind::Counts(columns) = &mut source.kind {
            columns.species = SpeciesColumns::One(ACROSS_SPECIES.into());
            columns.count = Some(ACROSS_VALUE.into());
        }
    }
    (built, all)
}

/// Lines of refused rows in each file.
fn refused(report: &LoadReport, files: usize) -> Vec<Vec<u64>> {
    refused_lines(report, files, |_| true)
}

/// Lines of those that are told to add up others.
fn totals_told(report: &LoadReport, files: usize) -> Vec<Vec<u64>> {
    refused_lines(report, files, |reason| {
        reason == "a row of totals, not a visit"
    })
}

fn refused_lines(report: &LoadReport, files: usize, meant: impl Fn(&str) -> bool) -> Vec<Vec<u64>> {
    let rows = &report.sources[0].refused;
    let of = |number: usize| {
        let name = format!("counts/{number}.csv");
        let own = rows
            .iter()
            .filter(|r| meant(&r.reason) && (files == 1 || r.file.as_ref() == Some(&name)));
        own.map(|r| r.line).collect()
    };
    (1..=files).map(of).collect()
}

fn headers_told(report: &LoadReport) -> u64 {
    let notes = report.sources[0].notes.iter();
    let number = |text: &str| {
        let rest = text.strip_prefix("Rows that repeat the header, passed over: ")?;
        rest.split(' ').next()?.parse::<u64>().ok()
    };
    notes.filter_map(|note| number(&note.text)).sum()
}

/// The lines of the table in so many pieces, each of which is a file with a header of its own.
fn pieces(table: &Generated, number: usize) -> Vec<Range<usize>> {
    let all = table.lines.len();
    let piece = |n: usize| n * all / number..(n + 1) * all / number;
    (0..number).map(piece).collect()
}

fn check(table: &Generated, ranges: &[Range<usize>]) -> Result<(), TestCaseError> {
    let (built, told) = built(table, ranges);
    let accepted: u64 = told.iter().map(|t| t.accepted).sum();
    let Ok(report) = built.load() else {
        prop_assert_eq!(accepted, 0);
        prop_assert!(!built.store_folder().exists());
        return Ok(());
    };
    let source = &report.sources[0];
    prop_assert_eq!(source.accepted, accepted, "{}", &report);
    let lines: Vec<Vec<u64>> = told.iter().map(|t| t.refused.clone()).collect();
    prop_assert_eq!(refused(&report, ranges.len()), lines, "{}", &report);
    let totals: Vec<Vec<u64>> = told.iter().map(|t| t.totals.clone()).collect();
    prop_assert_eq!(totals_told(&report, ranges.len()), totals, "{}", &report);
    prop_assert_eq!(source.rows, source.accepted + source.refused.len() as u64);
    prop_assert_eq!(source.blank_rows, told.iter().map(|t| t.blank).sum::<u64>());
    prop_assert_eq!(
        headers_told(&report),
        told.iter().map(|t| t.headers).sum::<u64>()
    );
    // the whole is what must be kept of either: a visit may stand in one half and again in the other
    let expected = file(table, 0..table.lines.len()).1.stored;
    prop_assert_eq!(stored(&built), expected, "{}", &report);
    let before = built.batch_files();
    prop_assert!(built.load().unwrap().unchanged);
    prop_assert!(before == built.batch_files());
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn every_cell_of_a_table_is_accounted_for(table in generated()) {
        check(&table, &pieces(&table, 1))?;
    }

    #[test]
    fn two_halves_of_a_table_are_the_whole(table in generated()) {
        check(&table, &pieces(&table, 2))?;
    }
}
