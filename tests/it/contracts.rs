//! The JSON that the README documents, on the demo's reserve.

use forecast::calendar::DAYS;
use harness::places;
use harness::program::{Ran, Workspace, wingtide};
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

/// A tenth of a percent: the chance of both is integrated over other points than that of each.
const INTEGRAL: f64 = 1e-3;

/// The demo, loaded and fitted once for all tests here. It stays in the build's own folder, since
/// nothing clears away what belongs to a whole program.
static RESERVE: LazyLock<PathBuf> = LazyLock::new(|| {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("contracts");
    if dir.exists() {
        std::fs::remove_dir_all(&dir).expect("the last run's demo goes");
    }
    let reserve = dir.to_str().expect("a plain path");
    wingtide(Path::new("."), &["demo", reserve]).works();
    dir
});

fn reserve(args: &[&str]) -> Ran {
    wingtide(&RESERVE, args)
}

fn array(value: &Value) -> &Vec<Value> {
    value.as_array().expect("an array")
}

fn keys(value: &Value) -> Vec<&str> {
    value
        .as_object()
        .expect("an object")
        .keys()
        .map(String::as_str)
        .collect()
}

fn chance(value: &Value) -> f64 {
    let p = value.as_f64().expect("a number");
    assert!((0.0..=1.0).contains(&p), "{p}");
    p
}

/// `MM-DD` of a common year.
fn month_day(value: &Value) {
    let text = value.as_str().expect("a date");
    assert_eq!(text.len(), 5, "{text}");
    let date = chrono::NaiveDate::parse_from_str(&format!("2023-{text}"), "%Y-%m-%d");
    assert!(date.is_ok(), "{text} is no date of a common year");
}

#[test]
fn windows() {
    let rows = reserve(&["windows", "--json"]).json();
    let mut told = [BTreeSet::new(), BTreeSet::new()];
    for row in array(&rows) {
        assert_eq!(
            keys(row),
            [
                "site",
                "species",
                "passage",
                "verdict",
                "birds",
                "seasons",
                "watched_days",
                "arrival",
                "median",
                "peak",
                "departure",
                "temperature",
                "change",
                "records"
            ]
        );
        assert_eq!(
            row["species"].as_str().map(|s| s.split(' ').count()),
            Some(2),
            "{row}"
        );
        for (key, told) in ["passage", "verdict"].iter().zip(&mut told) {
            told.insert(row[key].as_str().expect("a word").to_owned());
        }
        for key in ["birds", "seasons", "watched_days"] {
            assert!(row[key].is_u64(), "{key} {row}");
        }
        years(row);
        for key in ["arrival", "median", "peak", "departure"] {
            date_cell(&row[key]);
            if row["verdict"] == "curve" {
                assert!(row[key].is_object(), "{key} {row}");
            }
        }
    }
    let words = |words: &[&str]| {
        words
            .iter()
            .map(|w| (*w).to_owned())
            .collect::<BTreeSet<_>>()
    };
    assert!(told[0].is_subset(&words(&[
        "spring", "autumn", "winter", "summer", "all-year"
    ])));
    assert!(
        told[0].len() == 5,
        "the demo has passages of every kind: {:?}",
        told[0]
    );
    assert!(
        told[1].is_subset(&words(&["curve", "all-year", "no-season", "too-few"])),
        "{:?}",
        told[1]
    );
}

/// What the years say of a passage.
fn years(row: &Value) {
    if let Some(gate) = row["temperature"].as_object() {
        assert!(
            gate["link"].is_boolean() && gate["looked_at"].is_boolean(),
            "{row}"
        );
        assert!(gate["link"] == true || gate["why"].is_string(), "{row}");
    }
    if row["change"].is_object() {
        assert_eq!(keys(&row["change"]), ["arrival", "median", "departure"]);
    }
    assert_eq!(
        row["records"] != Value::Array(vec![]),
        row["verdict"] == "too-few",
        "{row}"
    );
    for season in array(&row["records"]) {
        assert_eq!(keys(season), ["first", "last", "seasons", "days_found"]);
        assert!(season["first"]["record"].is_string(), "{row}");
    }
}

fn date_cell(cell: &Value) {
    if cell.is_null() {
        return;
    }
    assert_eq!(keys(cell), ["day", "known", "any_year"]);
    month_day(&cell["day"]);
    for interval in [&cell["known"], &cell["any_year"]] {
        if !interval.is_null() {
            assert_eq!(array(interval).len(), 2);
            array(interval).iter().for_each(month_day);
        }
    }
    assert!(cell["known"].is_array(), "{cell}");
}

#[test]
fn windows_of_one_site() {
    let all = reserve(&["windows", "--json"]).json();
    let one = reserve(&["windows", "--site", "dune-wood", "--json"]).json();
    let of_site: Vec<&Value> = array(&all)
        .iter()
        .filter(|r| r["site"] == "dune-wood")
        .collect();
    assert_eq!(array(&one).iter().collect::<Vec<_>>(), of_site);
    assert!(of_site.len() > 10);
}

#[test]
fn curve() {
    for name in ["Calidris minuta", "calidris minuta", "Little Stint"] {
        let curve = reserve(&["curve", "--site", "long-bank", "--species", name, "--json"]).json();
        assert_eq!(
            keys(&curve),
            [
                "theta",
                "edf",
                "lambda",
                "year_effect_sd",
                "log_mean",
                "watched"
            ]
        );
        assert!(
            curve["theta"].is_f64(),
            "counts of stints scatter more than a Poisson's"
        );
        for key in ["edf", "lambda", "year_effect_sd"] {
            assert!(curve[key].as_f64().is_some_and(|x| x >= 0.0), "{key}");
        }
        let log_mean = array(&curve["log_mean"]);
        assert!(log_mean.len() == DAYS && log_mean.iter().all(Value::is_f64));
        let watched = array(&curve["watched"]);
        assert!(watched.len() == DAYS && watched.iter().all(Value::is_boolean));
        // the day of the README's sample against midwinter
        let on = |day: usize| log_mean[day - 1].as_f64().expect("a number");
        assert!(on(252) > on(1) + 3.0);
    }
}

#[test]
fn week() {
    let sites = ["long-bank", "tern-lagoon", "dune-wood"];
    for (site, date) in sites
        .iter()
        .flat_map(|s| ["2026-01-05", "2026-05-12", "2026-09-09"].map(|d| (*s, d)))
    {
        let week = reserve(&["week", "--site", site, "--date", date, "--json"]).json();
        assert_eq!(
            keys(&week),
            [
                "site",
                "week",
                "watched",
                "visits_assumed",
                "sets",
                "others",
                "finds_alone",
                "temperature"
            ]
        );
        assert_eq!(
            (&week["site"], &week["watched"]),
            (&site.into(), &true.into())
        );
        assert_eq!(week["visits_assumed"], 3);
        let sets = array(&week["sets"]);
        assert!(!sets.is_empty(), "{site} {date}");
        sets.iter().for_each(one_set);
        array(&week["others"])
            .iter()
            .for_each(|m| assert!(chance(&member(m)["chance_week"]) >= 0.02));
        let species = |m: &Value| m["species"].as_str().expect("a name").to_owned();
        let of_sets = sets.iter().flat_map(|s| array(&s["members"])).map(species);
        let all: Vec<String> = of_sets
            .chain(array(&week["others"]).iter().map(species))
            .collect();
        assert_eq!(
            all.iter().collect::<BTreeSet<_>>().len(),
            all.len(),
            "told twice: {all:?}"
        );
    }
    let iso = reserve(&[
        "week",
        "--site",
        "long-bank",
        "--date",
        "2026-09-13",
        "--json",
    ])
    .json();
    assert_eq!(iso["week"], "2026-W37");
}

fn member(m: &Value) -> &Value {
    assert_eq!(
        keys(m),
        [
            "species",
            "chance_visit",
            "chance_week",
            "basis",
            "recorded",
            "share",
            "stands",
            "records"
        ]
    );
    assert!(["curve", "frequency"].contains(&m["basis"].as_str().expect("a basis")));
    let stands = m["stands"].as_str();
    let words = [
        "arriving",
        "at peak",
        "leaving",
        "staying",
        "outside its window",
    ];
    assert!(
        m["stands"].is_null() || stands.is_some_and(|s| words.contains(&s)),
        "{m}"
    );
    let (visit, week) = (chance(&m["chance_visit"]), chance(&m["chance_week"]));
    assert!(
        visit <= week + 1e-9,
        "three visits find no less than one: {m}"
    );
    assert!(week >= 0.02 || stands == Some("outside its window"), "{m}");
    m
}

fn one_set(set: &Value) {
    assert_eq!(
        keys(set),
        ["set", "chance_together", "effective_birds", "members"]
    );
    let members = array(&set["members"]);
    assert!(members.len() >= 2);
    let shares = members
        .iter()
        .map(|m| member(m)["share"].as_f64().expect("a number"));
    assert!(shares.clone().all(|s| s > 0.0), "{set}");
    assert!((shares.sum::<f64>() - 1.0).abs() < 1e-9, "{set}");
    let mut weeks: Vec<f64> = members.iter().map(|m| chance(&m["chance_week"])).collect();
    weeks.sort_by(|a, b| b.total_cmp(a));
    // both found is no likelier than the less likely of the two, and no less likely than
    // Fréchet's bound P(A) + P(B) - 1
    let together = chance(&set["chance_together"]);
    let (least, most) = (weeks[0] + weeks[1] - 1.0, weeks[1]);
    assert!(
        together <= most + INTEGRAL && together >= least - INTEGRAL,
        "{set}"
    );
}

#[test]
fn a_date_outside_the_watch_has_no_sets() {
    // only the first half of the year is visited
    let settings = std::fs::read_to_string(
        places::repository().join("config/data/new-workspace/wingtide.toml"),
    );
    let mut counts = "Date,Place,Species,Number,Minutes\n".to_owned();
    for year in 2018..2026 {
        for month in 1..=6 {
            counts += &format!("{year}-{month:02}-10,my-site,Dunlin,{},60\n", 3 * month);
        }
    }
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings.expect("settings"))
        .with("counts.csv", counts);
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let week = workspace
        .run(&["week", "--date", "2026-10-07", "--json"])
        .json();
    assert_eq!(
        (&week["watched"], &week["sets"]),
        (&false.into(), &Value::Array(vec![]))
    );
    let page = workspace.run(&["week", "--date", "2026-10-07"]).works();
    assert!(
        page.contains("not watched at this time of the year"),
        "{page}"
    );
}
