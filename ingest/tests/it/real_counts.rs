//! Real counts: 20,662 records, one row a bird, and 1,954 visit dates at each of two sites.
//! Winger, Weeks, Farnsworth, Jones, Hennen & Willard (2019), Dryad, doi:10.5061/dryad.8rr0498,
//! CC0. The expected numbers were counted in the two files with a script of their own.

use crate::workspace::*;
use config::settings::*;
use ingest::report::{HalfYear, RepairKind, Zeros};
use std::io::Write;
use std::path::PathBuf;

const DATA: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../shared/data");

fn file(name: &str) -> Option<String> {
    let path = PathBuf::from(DATA).join(name);
    let text = std::fs::read_to_string(&path).ok();
    if text.is_none() {
        skipped(name);
    }
    text
}

fn skipped(what: &str) {
    eprintln!("SKIPPED: {what} is not there");
    if let Ok(list) = std::env::var("WINGTIDE_SKIPS") {
        let mut list = std::fs::OpenOptions::new()
            .append(true)
            .create(true)
            .open(list)
            .unwrap();
        writeln!(list, "ingest real_counts {what}").unwrap();
    }
}

fn real(records: &str, visits: &str) -> Built {
    let mut built = built();
    built.workspace.sites = vec![site("MP", "MP"), site("CHI", "CHI")];
    built.workspace.species.clear();
    built.write("records.csv", records);
    built.write("visits.csv", visits);
    let columns = CountColumns {
        site: Some("Locality".into()),
        species: SpeciesColumns::GenusEpithet("Genus".into(), "Species".into()),
        count: None,
        ..count_columns()
    };
    built.source("records", SourceKind::Counts(columns));
    let columns = VisitColumns {
        site: Some("Locality".into()),
        ..visit_columns(false)
    };
    built.source("visits", SourceKind::Visits(columns));
    built
}

#[test]
fn none_is_lost() {
    let (Some(records), Some(visits)) = (
        file("night-migrants-records.csv"),
        file("night-migrants-visits.csv"),
    ) else {
        return;
    };
    let built = real(&records, &visits);
    let report = built.load().unwrap();
    let source = report.source("records").unwrap();
    assert_eq!(
        (source.rows, source.accepted, source.refused.len()),
        (20_662, 20_662, 0)
    );
    assert_eq!(report.records(), 20_662);
    assert_eq!(source.species.len(), 79);
    assert!(
        source
            .species
            .iter()
            .all(|s| s.name.starts_with(char::is_uppercase))
    );
    let lower = source
        .repairs
        .iter()
        .find(|r| r.kind == RepairKind::Case)
        .unwrap();
    assert_eq!((lower.cells, lower.rows), (9, 1654));
    let tabs = source
        .repairs
        .iter()
        .find(|r| r.kind == RepairKind::Tabs)
        .unwrap();
    assert_eq!((tabs.column.as_str(), tabs.first_line), ("Stratum", 45));
    for (site, records) in [("MP", 5641), ("CHI", 15_021)] {
        let site = report.site(site).unwrap();
        assert_eq!(
            (site.visits, site.fully_reported, site.records),
            (1954, 1954, records)
        );
        assert_eq!(
            (site.zeros, site.dates_without_visit_total),
            (Zeros::Known, 0)
        );
    }
    assert!(report.gaps.is_empty() && report.offers.is_empty());
    let page = report.to_string();
    assert!(
        page.contains("20,662 records, 79 species") && page.contains("1,954 visit dates"),
        "{page}"
    );
    assert!(built.load().unwrap().unchanged);
    let birds: u64 = ["MP", "CHI"]
        .iter()
        .map(|site| built.store().history(&built.workspace, site).unwrap())
        .flat_map(|h| {
            h.species
                .into_values()
                .map(|s| s.birds())
                .collect::<Vec<_>>()
        })
        .sum();
    assert_eq!(birds, 20_662);
}

#[test]
fn a_half_year_without_its_records_is_a_gap() {
    let (Some(records), Some(visits)) = (
        file("night-migrants-records.csv"),
        file("night-migrants-visits.csv"),
    ) else {
        return;
    };
    let autumn_2005 =
        |line: &&str| line.starts_with("2005-") && &line[5..7] > "06" && line.contains(",MP");
    let kept: Vec<&str> = records
        .split_inclusive('\n')
        .filter(|l| !autumn_2005(l))
        .collect();
    let dates = visits.lines().filter(|l| autumn_2005(l)).count();
    let built = real(&kept.concat(), &visits);
    let report = built.load().unwrap();
    assert_eq!(report.gaps.len(), 1);
    let gap = &report.gaps[0];
    assert_eq!(
        (gap.site.as_str(), gap.half),
        (
            "MP",
            HalfYear {
                year: 2005,
                half: 2
            }
        )
    );
    assert_eq!(gap.visits, dates as u64);
    let history = built.store().history(&built.workspace, "MP").unwrap();
    assert_eq!(history.visits.len(), 1954 - dates);
}

#[test]
fn a_daily_temperature_series() {
    let Some(text) = file("daily-temperature.csv") else {
        return;
    };
    let mut built = built().counts("Date,Place,Species,Number\n2005-05-01,Long Bank,Dunlin,3\n");
    built.write("temperature.csv", &text);
    let columns = TemperatureColumns {
        date: "date".into(),
        site: None,
        mean: Some("mean_temperature_c".into()),
        extremes: None,
        unit: TemperatureUnit::Celsius,
    };
    built.source("temperature", SourceKind::Temperature(columns));
    let report = built.load().unwrap();
    let source = report.source("temperature").unwrap();
    assert_eq!(
        (source.accepted, source.refused.len()),
        (text.lines().count() as u64 - 1, 0)
    );
    let series = built.store().temperature("long-bank").unwrap();
    assert_eq!(
        (series.len() as u64, series[0]),
        (source.accepted, (day("1990-01-01"), -4.4))
    );
}
