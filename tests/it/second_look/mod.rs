//! Records worth a second look, from files to letters: slips planted in the counts of an invented
//! reserve are found with their reasons, answers outlive a reload, and a withdrawn record is used
//! no longer. All counts are drawn here from a truth that is written down.

mod answers;
mod letters;
mod questions;

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
