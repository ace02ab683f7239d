//! An invented estuary at 38 degrees south, with known truth.

use harness::program::Workspace;
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;
use std::fmt::Write;

const SETTINGS: &str = r#"
[workspace]
name = "Mallow Inlet"

[[site]]
id = "mallow-inlet"
name = "Mallow Inlet"
latitude = -38.2
longitude = 144.7
time_zone = "Australia/Melbourne"
region = "australasia"

[[species]]
scientific = "Calidris ruficollis"

[[species]]
scientific = "Calidris acuminata"

[[species]]
scientific = "Anarhynchus bicinctus"

[[species]]
scientific = "Haematopus longirostris"

[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
site = "mallow-inlet"
fully_reported = true
columns = { date = "Date", species = "Species", count = "Number" }

[look_alikes]
use = []
"#;

/// The first visit falls on or after this 1 September, the last before this 1 July.
pub const FIRST_YEAR: i32 = 2004;
pub const LAST_YEAR: i32 = 2015;

/// When a species is there, and how many are counted on a visit then.
pub struct Stay {
    pub species: &'static str,
    /// Days after 1 July by which half of its birds have come and have gone; None: all year.
    pub days: Option<(f64, f64)>,
    birds: f64,
}

/// Two summer visitors, a common and a scarce one (early October to late March), a winter
/// visitor (late February to mid-August) and a resident.
pub const STAYS: [Stay; 4] = [
    Stay {
        species: "Calidris ruficollis",
        days: Some((98.0, 266.0)),
        birds: 8.0,
    },
    Stay {
        species: "Calidris acuminata",
        days: Some((92.0, 250.0)),
        birds: 0.6,
    },
    Stay {
        species: "Anarhynchus bicinctus",
        days: Some((245.0, 410.0)),
        birds: 5.0,
    },
    Stay {
        species: "Haematopus longirostris",
        days: None,
        birds: 4.0,
    },
];

/// Half of a species' coming takes about twice as many days.
const EDGE_DAYS: f64 = 4.0;
/// Size of the gamma that counts scatter by.
const SHAPE: u32 = 2;

impl Stay {
    /// Part of its full numbers on a day after 1 July, in a season on time.
    pub fn part(&self, day: f64) -> f64 {
        let logistic = |x: f64| 1.0 / (1.0 + (-x / EDGE_DAYS).exp());
        let Some((from, to)) = self.days else {
            return 1.0;
        };
        let one = |d: f64| logistic(d - from) * logistic(to - d);
        one(day) + one(day + 365.0) + one(day - 365.0)
    }
}

fn normal(random: &mut Pcg64Mcg) -> f64 {
    // twelve uniforms have the variance 1
    (0..12).map(|_| random.random::<f64>()).sum::<f64>() - 6.0
}

/// A Poisson count about a gamma mean.
fn count(mean: f64, random: &mut Pcg64Mcg) -> u32 {
    let exponential = |random: &mut Pcg64Mcg| -(1.0 - random.random::<f64>()).ln();
    let gamma: f64 = (0..SHAPE).map(|_| exponential(random)).sum();
    let rate = mean * gamma / f64::from(SHAPE);
    let (mut birds, mut time) = (0, exponential(random));
    while time < rate {
        birds += 1;
        time += exponential(random);
    }
    birds
}

/// Every count as date, species and birds, in order of date. Two days of seven are visited.
pub fn counts(seed: u64) -> Vec<(chrono::NaiveDate, &'static str, u32)> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let date = |y, m| chrono::NaiveDate::from_ymd_opt(y, m, 1).expect("a date");
    let mut rows = Vec::new();
    for year in FIRST_YEAR..LAST_YEAR {
        // each species' own lateness and numbers, over a year from July to June
        let seasons =
            STAYS.map(|stay| (stay, 3.0 * normal(&mut random), 0.4 * normal(&mut random)));
        let days = date(year, 7).iter_days().zip(0..);
        for (date, day) in days.take_while(|(d, _)| *d < date(year + 1, 7)) {
            if random.random::<f64>() > 2.0 / 7.0 {
                continue;
            }
            for (stay, late, level) in &seasons {
                let mean = stay.birds * stay.part(f64::from(day) - late) * level.exp();
                rows.push((date, stay.species, count(mean, &mut random)));
            }
        }
    }
    rows.retain(|(d, _, _)| *d >= date(FIRST_YEAR, 9));
    rows
}

/// The estuary's workspace with these counts, loaded.
pub fn loaded(counts: &[(chrono::NaiveDate, &str, u32)]) -> Workspace {
    let mut text = "Date,Species,Number\n".to_owned();
    for (date, species, birds) in counts {
        writeln!(text, "{date},{species},{birds}").expect("text");
    }
    let workspace = Workspace::empty()
        .with("wingtide.toml", SETTINGS)
        .with("counts.csv", text);
    workspace.run(&["load"]).works();
    workspace
}
