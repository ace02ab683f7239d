//! What the years say, from files to words: a species driven by the temperature opens its gate,
//! one that is not leaves it closed, a moved arrival is told, and scarce species get first and
//! last dates. All counts are drawn here from a truth that is written down.

use chrono::{Datelike, NaiveDate};
use harness::program::Workspace;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Normal, Poisson};
use rand_pcg::Pcg64Mcg;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write;

const YEARS: std::ops::RangeInclusive<i32> = 1998..=2022;
/// Follows the temperature: days later for each deg C.
const FOLLOWER: (&str, f64) = ("Phylloscopus collybita", -3.0);
/// Comes earlier: days later a decade.
const MOVER: (&str, f64) = ("Anthus trivialis", -5.0);
/// Does neither.
const STEADY: [&str; 2] = ["Oenanthe oenanthe", "Phylloscopus trochilus"];
/// Six birds in four years.
const SCARCE: &str = "Sterna dougallii";
/// Days of the year whose mean temperature counts.
const COUNTING: std::ops::RangeInclusive<u32> = 55..=90;

const SETTINGS: &str = r#"
[workspace]
name = "Skerrow Ness"

[[site]]
id = "dune-wood"
name = "Dune Wood"
latitude = 54.64
longitude = -0.42
time_zone = "Europe/London"
region = "western-palearctic"

[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54.63
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"

[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
site = "dune-wood"
fully_reported = true
columns = { date = "Date", species = "Species", count = "Number" }

[[source]]
id = "visits"
kind = "visits"
file = "visits.csv"
date_order = "year-month-day"
site = "dune-wood"
columns = { date = "Date" }

[look_alikes]
use = []
"#;

const TEMPERATURE: &str = r#"
[[source]]
id = "temperature"
kind = "temperature"
file = "temperature.csv"
date_order = "year-month-day"
columns = { date = "Date", mean_c = "Mean" }
"#;

type Weather = BTreeMap<NaiveDate, f64>;

/// A yearly wave and days that follow one another.
fn weather(seed: u64) -> Weather {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let noise = Normal::new(0.0, 1.6).expect("a spread");
    let first = NaiveDate::from_ymd_opt(*YEARS.start() - 1, 9, 1).expect("a date");
    let mut off = 0.0;
    let day = |date: NaiveDate| {
        let turn = f64::from(date.ordinal()) / 365.25 * std::f64::consts::TAU;
        off = 0.85 * off + noise.sample(&mut random);
        (date, 9.0 - 7.0 * (turn - 0.5).cos() + off)
    };
    let days = first.iter_days().take_while(|d| d.year() <= *YEARS.end());
    days.map(day).collect()
}

fn warmth(weather: &Weather, year: i32) -> f64 {
    let days = COUNTING.map(|d| NaiveDate::from_yo_opt(year, d).expect("a day"));
    let means: Vec<f64> = days.map(|d| weather[&d]).collect();
    means.iter().sum::<f64>() / means.len() as f64
}

/// Shifts of the four species that pass, by year; each has 1.5 days of its own besides.
fn shifts(weather: &Weather, random: &mut Pcg64Mcg) -> BTreeMap<i32, [f64; 4]> {
    let own = Normal::new(0.0, 1.5).expect("a spread");
    let usual = YEARS.map(|y| warmth(weather, y)).sum::<f64>() / YEARS.count() as f64;
    let of_year = |year: i32| {
        let mut days = [0.0; 4].map(|_: f64| own.sample(random));
        days[0] += FOLLOWER.1 * (warmth(weather, year) - usual);
        days[1] += MOVER.1 * f64::from(year - 2010) / 10.0;
        (year, days)
    };
    YEARS.map(of_year).collect()
}

/// A spring watched every other day, normal passages of standard deviation 8 days about 20 April
/// and later.
struct Reserve {
    workspace: Workspace,
    shifts: BTreeMap<i32, [f64; 4]>,
}

fn reserve(birds_weather: &Weather, told_weather: Option<&Weather>) -> Reserve {
    let mut random = Pcg64Mcg::seed_from_u64(20);
    let shifts = shifts(birds_weather, &mut random);
    let names = [FOLLOWER.0, MOVER.0, STEADY[0], STEADY[1]];
    let mut counts = "Date,Species,Number\n".to_owned();
    let mut visits = "Date\n".to_owned();
    for year in YEARS {
        for day in (62..=160).step_by(2) {
            let date = NaiveDate::from_yo_opt(year, day).expect("a day");
            writeln!(visits, "{date}").expect("text");
            for (i, name) in names.iter().enumerate() {
                let peak = 110.0 + 5.0 * i as f64 + shifts[&year][i];
                let mean = 12.0 * (-0.5 * ((f64::from(day) - peak) / 8.0).powi(2)).exp();
                let scattered = mean * random.random_range(0.4..1.6) + 1e-9;
                let n: f64 = Poisson::new(scattered).expect("a mean").sample(&mut random);
                if n > 0.0 {
                    writeln!(counts, "{date},{name},{n}").expect("text");
                }
            }
        }
    }
    for (date, n) in [
        ("2003-05-13", 1),
        ("2009-05-26", 2),
        ("2009-05-20", 1),
        ("2014-05-08", 1),
        ("2020-05-18", 1),
    ] {
        writeln!(counts, "{date},{SCARCE},{n}").expect("text");
        writeln!(visits, "{date}").expect("text");
    }
    let mut settings = SETTINGS.to_owned();
    for name in names.iter().chain([&SCARCE]) {
        writeln!(settings, "[[species]]\nscientific = \"{name}\"").expect("text");
    }
    let mut workspace = Workspace::empty()
        .with("counts.csv", counts)
        .with("visits.csv", visits);
    if let Some(weather) = told_weather {
        settings += TEMPERATURE;
        workspace = workspace.with("temperature.csv", table(weather));
    }
    let workspace = workspace.with("wingtide.toml", settings);
    workspace.run(&["load"]).works();
    Reserve { workspace, shifts }
}

fn table(weather: &Weather) -> String {
    let rows = weather
        .iter()
        .map(|(date, mean)| format!("{date},{mean:.1}\n"));
    "Date,Mean\n".to_owned() + &rows.collect::<String>()
}

fn fitted(birds_weather: &Weather, told_weather: Option<&Weather>) -> Reserve {
    let reserve = reserve(birds_weather, told_weather);
    reserve.workspace.run(&["fit"]).works();
    reserve
}

impl Reserve {
    /// Text of `windows`, its line ends made blanks.
    fn told(&self) -> String {
        let text = self.workspace.run(&["windows", "--site", "dune-wood"]);
        let text = text.works();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    fn row(&self, species: &str) -> Value {
        let rows = self.workspace.run(&["windows", "--json"]).json();
        let mut rows = rows.as_array().expect("an array").iter();
        let found = rows.find(|r| r["species"] == species);
        found.expect("the species has a row").clone()
    }
}

fn holds(interval: &Value, truth: f64) -> bool {
    let end = |i: usize| interval[i].as_f64().expect("a number");
    end(0) <= truth && truth <= end(1)
}

#[test]
fn a_species_that_follows_the_temperature_opens_its_gate_and_moves_the_forecast() {
    let weather = weather(3);
    let reserve = fitted(&weather, Some(&weather));
    let told = reserve.told();
    assert!(told.contains("a link was found in 1"), "{told}");
    assert!(
        told.contains("Phylloscopus collybita, spring:") && told.contains("for each deg C warmer"),
        "{told}"
    );
    let link = &reserve.row(FOLLOWER.0)["temperature"];
    assert_eq!(link["link"], true, "{link}");
    assert!(holds(&link["interval"], FOLLOWER.1), "{link}");
    let error = |key: &str| link[key].as_f64().expect("days");
    assert!(error("error_days") < error("usual_error_days"), "{link}");
    for species in STEADY {
        let closed = &reserve.row(species)["temperature"];
        assert_eq!(
            (&closed["link"], &closed["looked_at"]),
            (&false.into(), &true.into())
        );
    }
    // the week of the last spring: the shift drawn for it, to twice the error of seasons left out
    let date = format!("{}-04-18", YEARS.end());
    let week = ["week", "--site", "dune-wood", "--date", &date];
    let json = reserve
        .workspace
        .run(&[&week[..], &["--json"]].concat())
        .json();
    let expected = json["temperature"]["links"][0]["expected_days"].as_f64();
    let expected = expected.expect("its temperatures are known");
    let truth = reserve.shifts[YEARS.end()][0];
    assert!(
        (expected - truth).abs() < 2.0 * error("error_days"),
        "{expected} {truth}"
    );
    let words = reserve.workspace.run(&week).works();
    assert!(
        words.contains("Temperature: Phylloscopus collybita"),
        "{words}"
    );
}

#[test]
fn weather_that_the_birds_did_not_have_opens_no_gate() {
    let (theirs, other) = (weather(3), weather(4));
    let reserve = fitted(&theirs, Some(&other));
    let told = reserve.told();
    assert!(
        told.contains("no link with temperature was found. 4 passages looked at"),
        "{told}"
    );
    let week = ["week", "--site", "dune-wood", "--date", "2022-04-18"];
    let words = reserve.workspace.run(&week).works();
    assert!(
        words.contains("no link with temperature was found"),
        "{words}"
    );
}

#[test]
fn without_temperatures_it_says_that_none_is_loaded() {
    let reserve = fitted(&weather(3), None);
    let told = reserve.told();
    assert!(told.contains("Temperature: none is loaded"), "{told}");
    assert!(reserve.row(FOLLOWER.0)["temperature"].is_null());
    // the other site has no counts: said in a sentence, not by an empty table
    let other = reserve.workspace.run(&["windows", "--site", "long-bank"]);
    assert!(other.works().contains("No bird has been counted here."));
}

#[test]
fn a_passage_that_moved_is_told_with_its_interval_and_one_that_did_not_as_well() {
    let reserve = fitted(&weather(3), None);
    let told = reserve.told();
    assert!(told.contains("Anthus trivialis, spring: arrival"), "{told}");
    assert!(told.contains("days earlier a decade"), "{told}");
    for date in ["arrival", "median", "departure"] {
        let change = &reserve.row(MOVER.0)["change"][date];
        assert_eq!(change["moved"], "earlier", "{date}: {change}");
        // the intervals are of 95 %; of three dates that move together one may miss narrowly
        let days = change["days_per_decade"].as_f64().expect("days");
        assert!((days - MOVER.1).abs() < 2.0, "{date}: {change}");
    }
    assert!(holds(
        &reserve.row(MOVER.0)["change"]["median"]["interval"],
        MOVER.1
    ));
    let still = &reserve.row(STEADY[0])["change"]["median"];
    assert_eq!(still["moved"], "not-found", "{still}");
}

#[test]
fn a_scarce_species_gets_first_and_last_dates() {
    let reserve = fitted(&weather(3), None);
    let told = reserve.told();
    assert!(
        told.contains("Too few records for a curve") && told.contains("Sterna dougallii (6 birds)"),
        "{told}"
    );
    assert!(
        told.contains("earliest record 8 May 2014") && told.contains("latest record 26 May 2009"),
        "{told}"
    );
    let row = reserve.row(SCARCE);
    let season = &row["records"][0];
    assert_eq!(
        (&row["verdict"], &season["seasons"]),
        (&"too-few".into(), &4.into())
    );
    assert_eq!(season["first"]["record"], "2014-05-08");
    // with four seasons there is an estimate, and it lies beyond the records
    let about = |end: &str| season[end]["about"].as_str().expect("a date").to_owned();
    assert!(
        about("first").as_str() < "05-08" && about("last").as_str() > "05-26",
        "{season}"
    );
    let week = ["week", "--site", "dune-wood", "--date", "2022-05-18"];
    let words = reserve.workspace.run(&week).works();
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("too few records; recorded here between 8 May and 26 May"),
        "{words}"
    );
}

/// Lines of a file of predictions issued up to a date.
fn issued(predictions: &str, until: &str) -> Vec<String> {
    let within = |line: &&str| line.split(',').nth(2).is_some_and(|date| date <= until);
    let lines = predictions.lines().skip(1).filter(within);
    lines.map(str::to_owned).collect()
}

fn predictions(reserve: &Reserve) -> String {
    let path = reserve.workspace.path("p.csv");
    let file = path.to_str().expect("a plain path");
    let years = ["backtest", "--from", "2019", "--to", "2021"];
    let all = [&years[..], &["--predictions", file]].concat();
    reserve.workspace.run(&all).works();
    std::fs::read_to_string(path).expect("it was written")
}

#[test]
fn later_temperatures_change_no_earlier_forecast() {
    let weather = weather(3);
    let reserve = reserve(&weather, Some(&weather));
    let whole = predictions(&reserve);
    let cut = |last: &str| {
        let last: NaiveDate = last.parse().expect("a date");
        let early = weather.iter().filter(|(d, _)| **d < last);
        let early: Weather = early.map(|(d, c)| (*d, *c)).collect();
        reserve.workspace.write("temperature.csv", table(&early));
        reserve.workspace.run(&["load"]).works();
        predictions(&reserve)
    };
    // Mondays; the temperatures of the day itself and later are gone
    for monday in ["2019-03-11", "2020-04-06", "2021-04-12"] {
        let cut = cut(monday);
        let (before, after) = (issued(&whole, monday), issued(&cut, monday));
        assert!(before.len() > 20 && before == after, "{monday}");
        let all = "2099";
        let same = issued(&whole, all) == issued(&cut, all);
        // by mid April every day that counts is past, so nothing later can matter that year
        assert!(
            !same || monday == "2021-04-12",
            "{monday}: they count for something"
        );
    }
    let none = cut("1998-01-01");
    assert!(whole != none, "temperature moves forecasts");
}
