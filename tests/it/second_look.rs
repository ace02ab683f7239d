//! Records worth a second look, from files to letters: slips planted in the counts of an invented
//! reserve are found with their reasons, answers outlive a reload, and a withdrawn record is used
//! no longer. All counts are drawn here from a truth that is written down.

use chrono::{Datelike, NaiveDate};
use config::settings::Workspace as Settings;
use forecast::series::Count;
use harness::program::Workspace;
use ingest::Store;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Poisson};
use rand_pcg::Pcg64Mcg;
use serde_json::Value;
use std::fmt::Write;

const SETTINGS: &str = r#"
[workspace]
name = "Skerrow Ness"
keeper = "A. Warden <warden@skerrow.example>"
keep_observers = "names"

[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54.63
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"

[[species]]
scientific = "Anthus trivialis"
names = { en = "Tree Pipit" }

[[species]]
scientific = "Calidris alpina"
names = { en = "Dunlin" }

[[species]]
scientific = "Calidris minuta"
names = { en = "Little Stint" }

[[species]]
scientific = "Calidris ferruginea"
names = { en = "Curlew Sandpiper" }

[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
site = "long-bank"
fully_reported = true
columns = { date = "Date", species = "Species", count = "Number", observer = "Who" }

[[source]]
id = "visits"
kind = "visits"
file = "visits.csv"
date_order = "year-month-day"
site = "long-bank"
columns = { date = "Date" }

[second_look]
false_questions_a_week = 0.2

[[finder]]
name = "Ann Warden"
mail = "ann@skerrow.example"
may_be_written_to = true

[[finder]]
name = "B. Keeper"
mail = "keeper@skerrow.example"
"#;

/// Species, birds at the peak, day of the peak (of a common year), days of spread.
const TRUTH: [(&str, f64, f64, f64); 4] = [
    ("Anthus trivialis", 7.0, 129.0, 9.0),
    ("Calidris alpina", 14.0, 250.0, 14.0),
    ("Calidris minuta", 0.8, 252.0, 9.0),
    ("Calidris ferruginea", 0.5, 245.0, 9.0),
];
const LAST: i32 = 2023;

fn date(y: i32, m: u32, d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(y, m, d).expect("a date")
}

/// Every day of April, May, August and September of nine years.
fn visits() -> impl Iterator<Item = NaiveDate> {
    let days = (LAST - 8..=LAST).flat_map(|y| date(y, 1, 1).iter_days().take(366));
    days.filter(|d| [4, 5, 8, 9].contains(&d.month()))
}

/// Date, species, number, observer.
pub type Row = (NaiveDate, &'static str, u32, &'static str);

/// The three slips, in the order of their kinds: day and month swapped, a nought too many, and
/// Dunlin under the name of Curlew Sandpiper.
pub fn slips() -> [Row; 3] {
    [
        (date(LAST, 9, 5), "Anthus trivialis", 6, "Ann Warden"),
        (date(LAST, 9, 8), "Calidris alpina", 150, "B. Keeper"),
        (date(LAST, 9, 12), "Calidris ferruginea", 14, "C. Visitor"),
    ]
}

fn true_rows() -> Vec<Row> {
    let mut random = Pcg64Mcg::seed_from_u64(5);
    let mut rows = Vec::new();
    for day in visits() {
        for (species, highest, peak, spread) in TRUTH {
            let z = (f64::from(day.ordinal()) - peak) / spread;
            let mean = highest * (-0.5 * z * z).exp() * random.random_range(0.6..1.4);
            let birds: f64 = Poisson::new(mean + 1e-9)
                .expect("a mean")
                .sample(&mut random);
            if birds > 0.0 {
                rows.push((day, species, birds as u32, "D. Regular"));
            }
        }
    }
    rows
}

/// The rows as they were written: slips in the place of what was true.
pub fn written() -> Vec<Row> {
    let of_slips = [
        (date(LAST, 5, 9), "Anthus trivialis"),
        (date(LAST, 9, 8), "Calidris alpina"),
        (date(LAST, 9, 12), "Calidris alpina"),
        (date(LAST, 9, 12), "Calidris ferruginea"),
    ];
    let mut rows = true_rows();
    rows.retain(|r| !of_slips.contains(&(r.0, r.1)));
    rows.extend(slips());
    rows.sort();
    rows
}

fn table(rows: &[Row]) -> String {
    let mut table = "Date,Species,Number,Who\n".to_owned();
    for (day, species, number, who) in rows {
        writeln!(table, "{day},{species},{number},{who}").expect("a String grows");
    }
    table
}

fn reserve(rows: &[Row]) -> Workspace {
    let mut dates = "Date\n".to_owned();
    for day in visits() {
        writeln!(dates, "{day}").expect("a String grows");
    }
    let workspace = Workspace::empty()
        .with("wingtide.toml", SETTINGS)
        .with("counts.csv", table(rows))
        .with("visits.csv", dates);
    workspace.run(&["load"]).works();
    workspace
}

pub fn fitted(rows: &[Row]) -> Workspace {
    let workspace = reserve(rows);
    workspace.run(&["fit"]).works();
    workspace
}

pub fn records(workspace: &Workspace) -> Vec<Value> {
    let found = workspace.run(&["second-look", "--json"]).json();
    found["records"].as_array().expect("records").clone()
}

pub fn of(records: &[Value], slip: &Row) -> Value {
    let day = slip.0.to_string();
    let found = records
        .iter()
        .find(|r| r["species"] == slip.1 && r["date"] == day.as_str());
    found
        .unwrap_or_else(|| panic!("{slip:?} not in {records:#?}"))
        .clone()
}

pub fn name(record: &Value) -> String {
    record["record"].as_str().expect("a fingerprint").to_owned()
}

pub fn count_on(workspace: &Workspace, slip: &Row) -> Count {
    let root = workspace.path("");
    let settings: Settings = config::load(&root).expect("settings");
    let store = Store::open_existing(&root).expect("a store");
    let history = store.history(&settings, "long-bank").expect("a history");
    let mut known = history.species[slip.1].iter();
    known.find(|(v, _)| v.date == slip.0).expect("a visit").1
}

#[test]
fn planted_slips_are_found_with_their_reasons_and_little_else() {
    let workspace = fitted(&written());
    let found = workspace.run(&["second-look", "--json"]).json();
    let records = found["records"].as_array().expect("records");
    for (slip, reason, words) in [
        (&slips()[0], "swapped-date", "it would be 9 May 2023"),
        (&slips()[1], "tenfold", "With a nought less it would be 15"),
        (
            &slips()[2],
            "look-alike",
            "Dunlin is far likelier on that date",
        ),
    ] {
        let record = of(records, slip);
        assert_eq!(record["reason"], reason, "{record:#}");
        let because = record["because"]
            .as_str()
            .expect("words")
            .replace('\u{a0}', " ");
        assert!(because.contains(words), "{because}");
        assert!(
            record["chance"].as_f64().expect("a chance") < 0.001,
            "{record:#}"
        );
    }
    // 5 years of 18 weeks or so, a fifth of a question in each
    let limit = &found["limit"];
    let weeks = limit["weeks"].as_u64().expect("weeks") as f64;
    let asked = limit["would_have_asked"].as_u64().expect("a number") as f64;
    assert!(
        asked <= 0.2 * weeks && asked >= 0.2 * weeks - 2.0,
        "{limit:#}"
    );
    // a year has 18 weeks of visits: three slips, and about four true records
    assert!(records.len() <= 3 + 10, "{records:#?}");
    // the shares of the set add up to one, and the marks are those of the set
    let record = of(records, &slips()[2]);
    let shares = record["look_alikes"].as_array().expect("shares");
    let sum: f64 = shares.iter().filter_map(|s| s["share"].as_f64()).sum();
    assert!(shares.len() == 3 && (sum - 1.0).abs() < 1e-9, "{record:#}");
    assert_eq!(shares[0]["species"], "Calidris alpina");
    assert!(!record["marks"].as_array().expect("marks").is_empty());
    let screen = workspace.run(&["second-look"]).works();
    assert!(screen.lines().all(|l| l.chars().count() <= 80), "{screen}");
    assert!(screen.contains("Nothing is taken out"), "{screen}");
}

#[test]
fn without_slips_the_same_dates_raise_no_question() {
    let workspace = fitted(&true_rows());
    let records = records(&workspace);
    for (day, species, ..) in slips() {
        let day = day.to_string();
        let asked = |r: &&Value| r["species"] == species && r["date"] == day.as_str();
        assert!(!records.iter().any(|r| asked(&r)), "{records:#?}");
    }
}

#[test]
fn a_letter_goes_only_to_a_finder_who_agreed() {
    let workspace = fitted(&written());
    let records = records(&workspace);
    let letter = |slip: &Row| {
        let record = name(&of(&records, slip));
        workspace.run(&["second-look", "--letter", &record]).works()
    };
    let to_ann = letter(&slips()[0]);
    assert!(
        to_ann.starts_with(
            "To: \"Ann Warden\" <ann@skerrow.example>\n\
             Reply-To: A. Warden <warden@skerrow.example>\n\
             Subject: Your record of Tree Pipit on 5 September 2023\n"
        ),
        "{to_ann}"
    );
    assert!(
        to_ann.contains("The date: is it as you noted it?"),
        "{to_ann}"
    );
    let to_nobody = letter(&slips()[1]);
    assert!(
        to_nobody.starts_with("To: nobody (B. Keeper has not agreed to be written to)\n"),
        "{to_nobody}"
    );
    assert!(!to_nobody.contains("keeper@skerrow.example"), "{to_nobody}");
    let unlisted = letter(&slips()[2]);
    assert!(
        unlisted.starts_with("To: nobody (C. Visitor has no [[finder]]"),
        "{unlisted}"
    );
}

#[test]
fn answers_outlive_a_reload_and_a_withdrawn_record_is_used_no_longer() {
    let mut rows = written();
    let workspace = fitted(&rows);
    let records_before = records(&workspace);
    let [swapped, tenfold, taken] = slips().map(|s| name(&of(&records_before, &s)));
    let answer = |record: &str, rest: &[&str]| {
        let command = ["second-look", "answer", record, "--date", "2023-10-02"];
        workspace.run(&[&command[..], rest].concat()).works()
    };
    let note = "Ann Warden says it was May";
    answer(&swapped, &["--withdrawn", "--note", note]);
    answer(&taken, &["--accepted", "--evidence", "two pictures"]);
    answer(&taken, &["--changed"]);
    // the file is written anew in another order, with one row more
    rows.reverse();
    rows.push((date(LAST, 8, 1), "Calidris alpina", 1, "D. Regular"));
    workspace.write("counts.csv", table(&rows));
    workspace.run(&["load"]).works();
    let answers = workspace
        .run(&["second-look", "--answers", "--json"])
        .json();
    let told: Vec<_> = answers["answers"]
        .as_array()
        .expect("answers")
        .iter()
        .map(|a| (name(a), a["verdict"].as_str().expect("a word").to_owned()))
        .collect();
    let expected = [
        (&swapped, "withdrawn"),
        (&taken, "accepted"),
        (&taken, "changed"),
    ];
    assert_eq!(told, expected.map(|(r, v)| (r.clone(), v.to_owned())));
    assert_eq!(answers["answers"][0]["answered_on"], "2023-10-02");
    // out of the series, not out of the store; asked about no more
    assert_eq!(count_on(&workspace, &slips()[0]), Count::Unknown);
    assert_eq!(count_on(&workspace, &slips()[1]), Count::Exactly(150));
    let rows_kept = std::fs::read_to_string(workspace.path("counts.csv")).expect("the file");
    assert!(rows_kept.contains("2023-09-05,Anthus trivialis,6"));
    let after = records(&workspace);
    assert!(after.iter().all(|r| name(r) != swapped), "{after:#?}");
    assert_eq!(of(&after, &slips()[2])["answer"]["verdict"], "changed");
    let stale = workspace.run(&["week", "--date", "2023-09-06"]);
    assert!(
        stale.err.contains("changed since the last fit"),
        "{}",
        stale.err
    );
    // taken back, it is used again
    answer(&swapped, &["--accepted"]);
    assert_eq!(count_on(&workspace, &slips()[0]), Count::Exactly(6));
    // fits that have it are told from counts that came in
    workspace.run(&["fit"]).works();
    answer(&swapped, &["--withdrawn", "--note", note]);
    let stale = workspace.run(&["week", "--date", "2023-09-06"]);
    let said = "was withdrawn or put back since the last fit";
    assert!(stale.err.contains(said), "{}", stale.err);
    answer(&swapped, &["--accepted"]);
    // a name that a reviewer wrote down goes with its observer
    workspace.run(&["erase-observer", "Ann Warden"]).works();
    let trail = workspace.run(&["second-look", "--answers"]).works();
    assert!(trail.contains("Note: ... says it was May"), "{trail}");
    assert!(!trail.contains("Warden"), "{trail}");
    assert!(
        !trail.contains(&tenfold) && trail.contains("two pictures"),
        "{trail}"
    );
}

#[test]
fn the_week_can_be_shown_without_what_is_pending() {
    let workspace = fitted(&written());
    let week = |more: &[&str]| {
        let command = ["week", "--date", "2023-09-13", "--json"];
        workspace.run(&[&command[..], more].concat())
    };
    let without = week(&["--without-pending"]);
    assert!(without.err.starts_with("Without "), "{}", without.err);
    let (with, without) = (week(&[]).json(), without.json());
    let share = |week: &Value| {
        let sets = week["sets"].as_array().expect("sets");
        let members = sets.iter().filter_map(|s| s["members"].as_array());
        let curlew = members
            .flatten()
            .find(|m| m["species"] == "Calidris ferruginea");
        curlew.expect("the species")["share"]
            .as_f64()
            .expect("a share")
    };
    // 14 misnamed birds and 150 for 15 are gone; the shares are those of earlier years alone
    assert!(share(&without) < share(&with), "{without:#} {with:#}");
}

#[test]
fn the_page_on_a_load_tells_of_them_apart_from_the_rules() {
    let workspace = fitted(&written());
    workspace.run(&["load"]).works();
    let page = std::fs::read_to_string(workspace.path("report/load.html")).expect("the page");
    let heading = "Records that the forecast did not expect";
    assert!(page.contains(heading), "{page}");
    assert!(page.contains("Curlew Sandpiper, 14, Long Bank"), "{page}");
}

#[test]
fn what_cannot_be_done_is_said() {
    let workspace = reserve(&written());
    let unfitted = workspace.run(&["second-look"]).fails();
    assert!(unfitted.contains("run: wingtide"), "{unfitted}");
    workspace.run(&["fit"]).works();
    let batch = workspace.run(&["second-look", "--batch", "99"]).fails();
    assert!(batch.contains("no batch 99"), "{batch}");
    let letter = workspace
        .run(&["second-look", "--letter", "0000000000"])
        .fails();
    assert!(
        letter.contains("no record \"0000000000\" is asked about"),
        "{letter}"
    );
    let answer = workspace.run(&["second-look", "answer", "0000000000", "--accepted"]);
    assert!(
        answer
            .fails()
            .contains("no record \"0000000000\" is loaded")
    );
    // the first load brought every row; a second one only what it changed
    let all = workspace
        .run(&["second-look", "--batch", "1", "--json"])
        .json();
    assert!(
        all["looked_at"].as_u64() > Some(500),
        "{}",
        all["looked_at"]
    );
    let mut rows = written();
    rows.push((date(LAST, 8, 1), "Calidris minuta", 30, "D. Regular"));
    workspace.write("counts.csv", table(&rows));
    workspace.run(&["load"]).works();
    let one = workspace
        .run(&["second-look", "--batch", "3", "--json"])
        .json();
    assert_eq!(one["looked_at"], 1);
    assert_eq!(one["records"][0]["said"], "30", "{one:#}");
}
