//! Time to load a counts file of a million rows, and to read a site's history back.

use chrono::{Days, NaiveDate, Utc};
use config::look_alikes::Region;
use config::settings::*;
use ingest::Store;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::time::Instant;

const ROWS: usize = 1_000_000;

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let text = text();
    std::fs::write(folder.path().join("counts.csv"), &text).unwrap();
    let workspace = workspace(folder.path());
    let start = Instant::now();
    let report = ingest::load(&workspace, folder.path(), Utc::now(), &mut |_| {}).unwrap();
    let seconds = start.elapsed().as_secs_f64();
    assert_eq!(report.records(), ROWS as u64);
    let mib = text.len() as f64 / 1_048_576.0;
    println!("{ROWS} rows, {mib:.0} MiB: loaded in {seconds:.2} s");
    let start = Instant::now();
    assert!(
        ingest::load(&workspace, folder.path(), Utc::now(), &mut |_| {})
            .unwrap()
            .unchanged
    );
    println!("loaded again in {:.2} s", start.elapsed().as_secs_f64());
    let store = Store::open_existing(folder.path()).unwrap();
    let start = Instant::now();
    let suspects = store.suspects(&workspace, &report, Utc::now()).unwrap();
    println!(
        "{} suspects found in {:.2} s",
        suspects.len(),
        start.elapsed().as_secs_f64()
    );
    let start = Instant::now();
    let history = store.history(&workspace, "s1").unwrap();
    println!(
        "history of a site, {} visits of {} species, in {:.2} s",
        history.visits.len(),
        history.species.len(),
        start.elapsed().as_secs_f64()
    );
}

/// 40 years, 5 sites, 200 species, a few of them written in lower case.
fn text() -> String {
    let start = NaiveDate::from_ymd_opt(1985, 1, 1).unwrap();
    let mut text = "Date,Place,Species,Number,Remarks\n".to_owned();
    for row in 0..ROWS {
        let date = start + Days::new((row / 70) as u64);
        let species = (row * 7919) % 200;
        let (a, b) = (
            (b'a' + (species / 20) as u8) as char,
            (b'a' + (species % 20) as u8) as char,
        );
        let genus = if species < 5 { "avis" } else { "Avis" };
        writeln!(
            text,
            "{date},Site {},{genus} nov{a}{b},{},no remarks",
            row % 5,
            row % 300
        )
        .unwrap();
    }
    text
}

fn workspace(root: &std::path::Path) -> Workspace {
    let site = |n: usize| Site {
        id: format!("s{n}"),
        name: format!("Site {n}"),
        latitude: 54.0,
        longitude: 0.0,
        time_zone: chrono_tz::UTC,
        region: Region("western-palearctic".into()),
        standard_effort: None,
        cautions: None,
        cuts: BTreeMap::new(),
        half_years: StatedHalfYears::default(),
        sensitive: None,
    };
    let columns = CountColumns {
        date: "Date".into(),
        site: Some("Place".into()),
        species: SpeciesColumns::One("Species".into()),
        count: Some("Number".into()),
        effort: None,
        fully_reported: true,
        tokens: CountTokens {
            at_least: vec!["+".into()],
            about: vec!["c.".into()],
            present: vec!["x".into()],
            absent: vec!["-".into()],
        },
    };
    Workspace {
        root: root.to_owned(),
        name: "A million rows".into(),
        keeper: None,
        language: "en".into(),
        visits_assumed: 3,
        sites: (0..5).map(site).collect(),
        // Lists the genus, which some rows write in lower case.
        species: vec![Species {
            scientific: "Avis novaa".into(),
            names: BTreeMap::new(),
            also: Vec::new(),
            sensitive: None,
            synonyms: Vec::new(),
        }],
        sources: vec![Source {
            id: "counts".into(),
            path: root.join("counts.csv"),
            url: None,
            kind: SourceKind::Counts(columns),
            separator: None,
            encoding: None,
            date_order: Some(DateOrder::YearMonthDay),
            site: None,
            site_names: BTreeMap::new(),
            layout: Layout::default(),
            meaning: Default::default(),
        }],
        store: StoreSettings::default(),
        look_alikes: Vec::new(),
        library: Vec::new(),
        fetch: Default::default(),
        records: Default::default(),
        digest: DigestSettings {
            title: String::new(),
            sites: Vec::new(),
            from: String::new(),
            to: String::new(),
            stale_after_days: 21,
        },
        backtest: config::settings::BacktestSettings {
            mondays: Vec::new(),
        },
        service: config::service::ServiceSettings {
            load: "15 4 * * *".parse().unwrap(),
            digest: "30 6 * * mon".parse().unwrap(),
            time_zone: None,
            listen: "127.0.0.1:7878".parse().unwrap(),
            public_url: None,
        },
        mail: None,
        recipients: Vec::new(),
        webhooks: Vec::new(),
    }
}
