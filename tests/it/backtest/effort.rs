//! How long later visits are says nothing to a forecast issued before them.

use super::leaks::first_difference;
use super::{Tested, backtest};
use harness::program::Workspace;
use std::fmt::Write;

const SETTINGS: &str = r#"
[workspace]
name = "Skerrow Ness"

[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54.63
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"
STANDARD

[[species]]
scientific = "Calidris alpina"

[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
fully_reported = true
columns = { date = "Date", species = "Species", count = "Number", effort = "Minutes" }
site = "long-bank"

[look_alikes]
use = []
"#;

/// Autumns of 2010 to 2016, on every third day; the minutes of every fourth visit were not
/// written down. Visits after `last` were made `times` as long.
fn tested(standard: &str, last: &str, times: u32, history: &[&str]) -> Tested {
    let mut counts = "Date,Species,Number,Minutes\n".to_owned();
    let days = (2010..=2016).flat_map(|year| {
        [8, 9, 10]
            .into_iter()
            .flat_map(move |month| (1..=28).step_by(3).map(move |d| (year, month, d)))
    });
    for (i, (year, month, day)) in days.enumerate() {
        let date = format!("{year}-{month:02}-{day:02}");
        let minutes = match i % 4 {
            0 => String::new(),
            _ if date.as_str() > last => (times * (40 + 10 * (i as u32 % 5))).to_string(),
            _ => (40 + 10 * (i as u32 % 5)).to_string(),
        };
        let birds = (i * 37 + i * i * 11) % if month == 9 { 23 } else { 5 };
        writeln!(counts, "{date},Calidris alpina,{birds},{minutes}").expect("text");
    }
    let workspace = Workspace::empty()
        .with("wingtide.toml", SETTINGS.replace("STANDARD", standard))
        .with("counts.csv", counts);
    workspace.run(&["load"]).works();
    let years = ["--from", "2013", "--to", "2016"];
    backtest(&workspace, &[&years[..], history].concat())
}

/// Lines whose visits all lie within some days, by their fifth column.
fn aimed<'a>(predictions: &'a str, from: &str, to: &str) -> Vec<&'a str> {
    let within = |line: &&str| {
        let target = line.split(',').nth(4).expect("a target");
        from <= target && target <= to
    };
    predictions.lines().skip(1).filter(within).collect()
}

/// A forecast is made for visits of a given length, so those aimed at visits of another length
/// differ; all others must not, though the middle of all visits has moved.
#[test]
fn later_effort_changes_no_earlier_forecast() {
    for standard in ["", "standard_effort = 60"] {
        for history in [&[][..], &["--history", "3"]] {
            let last = "2014-09-14";
            let before = tested(standard, last, 1, history);
            let after = tested(standard, last, 4, history);
            // the week of 8 September ends on the last day
            let then = |t| aimed(t, "2013-01-01", "2014-09-08");
            let (a, b) = (then(&before.predictions), then(&after.predictions));
            assert!(a.len() > 100, "{} lines", a.len());
            assert!(a == b, "{standard}: {:?}", first_difference(&a, &b));
            let later = |t| aimed(t, "2014-09-15", "2016-12-31");
            assert!(later(&before.predictions) != later(&after.predictions));
        }
    }
}
