//! Temperatures that the gates are tried on.

use chrono::NaiveDate;
use forecast::temperature::daily::DailyTemperature;
use rand::SeedableRng;
use rand_distr::{Distribution, Normal};
use rand_pcg::Pcg64Mcg;
use std::path::PathBuf;

fn beside(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("..")
        .join(name)
}

pub fn reference(table: &str) -> Vec<Vec<String>> {
    rows(&beside("tests/reference/checks/data").join(table))
}

fn rows(path: &PathBuf) -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(path).expect("the table opens");
    let fields = |line: &str| line.split(',').map(str::to_owned).collect();
    text.lines().skip(1).map(fields).collect()
}

pub fn number(text: &str) -> f64 {
    text.parse().expect("a number")
}

pub fn daily(rows: &[Vec<String>]) -> DailyTemperature {
    let day = |r: &Vec<String>| (r[0].parse::<NaiveDate>().expect("a date"), number(&r[1]));
    DailyTemperature::new(&rows.iter().map(day).collect::<Vec<_>>()).expect("one mean a day")
}

/// Daily means 1990-2011; None, said in sight, where the data are absent.
pub fn real_temperature() -> Option<DailyTemperature> {
    let path = beside("../shared/data/daily-temperature.csv");
    if !path.exists() {
        println!("SKIPPED: ../shared/data/daily-temperature.csv is absent");
        if let Some(list) = std::env::var_os("WINGTIDE_SKIPS") {
            use std::io::Write;
            let file = std::fs::OpenOptions::new()
                .append(true)
                .create(true)
                .open(list);
            let noted = file.and_then(|mut f| writeln!(f, "daily-temperature.csv is absent"));
            noted.expect("the file that WINGTIDE_SKIPS names can be written");
        }
        return None;
    }
    Some(daily(&rows(&path)))
}

/// Weather of our own: a year's wave and days that follow one another.
pub fn made_up_temperature(seed: u64) -> DailyTemperature {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let noise = Normal::new(0.0, 2.0).unwrap();
    let first = NaiveDate::from_ymd_opt(1989, 9, 1).unwrap();
    let mut off = 0.0;
    let mut day = |date: NaiveDate| {
        let turn = f64::from(chrono::Datelike::ordinal(&date)) / 365.25 * std::f64::consts::TAU;
        off = 0.85 * off + noise.sample(&mut random);
        (date, 9.0 - 11.0 * (turn - 0.35).cos() + off)
    };
    let days: Vec<(NaiveDate, f64)> = first.iter_days().take(8200).map(&mut day).collect();
    DailyTemperature::new(&days).unwrap()
}
