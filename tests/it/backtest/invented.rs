//! What the command says and writes, on a small invented reserve.

use super::predictions::{Says, read};
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

[[site]]
id = "dune-wood"
name = "Dune Wood"
latitude = 54.64
longitude = -0.42
time_zone = "Europe/London"
region = "western-palearctic"

[[species]]
scientific = "Calidris alpina"

[[species]]
scientific = "Calidris minuta"

[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
columns = { date = "Date", site = "Site", species = "Species", count = "Number" }

[[source]]
id = "visits"
kind = "visits"
file = "visits.csv"
date_order = "year-month-day"
columns = { date = "Date", site = "Site" }

[look_alikes]
use = []
"#;

/// Long Bank is visited on every third day of April and May, and of September and October, from
/// 2015 to 2020; nothing was written down in the autumn of 2019. Nothing ever was at Dune Wood.
fn reserve() -> Workspace {
    let mut counts = "Date,Site,Species,Number\n".to_owned();
    let mut visits = "Date,Site\n2016-05-01,dune-wood\n".to_owned();
    for year in 2015..=2020 {
        for (month, day) in [4, 5, 9, 10]
            .into_iter()
            .flat_map(|m| (1..=28).step_by(3).map(move |d| (m, d)))
        {
            let date = format!("{year}-{month:02}-{day:02}");
            writeln!(visits, "{date},long-bank").expect("text");
            if year == 2019 && month > 6 {
                continue;
            }
            let number = (year * 7 + month * 5 + day) % 6;
            writeln!(counts, "{date},long-bank,Calidris alpina,{number}").expect("text");
            let scarce = if day == 10 { "x" } else { "0" };
            writeln!(counts, "{date},long-bank,Calidris minuta,{scarce}").expect("text");
        }
    }
    let reserve = Workspace::empty().with("wingtide.toml", SETTINGS);
    let reserve = reserve
        .with("counts.csv", counts)
        .with("visits.csv", visits);
    reserve.run(&["load"]).works();
    reserve
}

fn failure(reserve: &Workspace, args: &[&str]) -> String {
    reserve.run(&[&["backtest"], args].concat()).fails()
}

#[test]
fn what_cannot_be_tested_is_said_in_a_sentence() {
    let reserve = reserve();
    let said = |from, to| failure(&reserve, &["--from", from, "--to", to]);
    assert_eq!(
        said("2018", "2016"),
        "error: the first year, 2018, comes after the last, 2016\n"
    );
    assert_eq!(
        said("2010", "2015"),
        "error: no species had 20 birds at any site before 2015, so there is nothing to forecast \
         from; the first year that can be tested is 2016\n"
    );
    assert_eq!(
        said("2021", "2022"),
        "error: there is no visit in the weeks to be forecast from 2021 to 2022; visits begin in \
         2015 and end in 2020\n"
    );
    let site = failure(
        &reserve,
        &["--from", "2018", "--to", "2018", "--site", "dune-wood"],
    );
    assert_eq!(site, "error: no species has been counted at dune-wood\n");
    let chart = failure(
        &reserve,
        &["--from", "2018", "--to", "2018", "--chart", "chart.gif"],
    );
    assert!(
        chart.contains("chart.gif is no name for a chart, expected one that ends in .png or .svg")
    );
    let nowhere = failure(
        &reserve,
        &[
            "--from",
            "2018",
            "--to",
            "2018",
            "--predictions",
            "no/such.csv",
        ],
    );
    assert_eq!(
        nowhere,
        "error: cannot write the predictions to no/such.csv: there is no folder no\n"
    );
}

#[test]
fn a_failure_leaves_the_former_file() {
    let reserve = reserve();
    reserve.write("p.csv", "former");
    let path = reserve.path("p.csv");
    let path = path.to_str().expect("UTF-8");
    failure(
        &reserve,
        &["--from", "2021", "--to", "2021", "--predictions", path],
    );
    assert_eq!(std::fs::read_to_string(path).expect("the file"), "former");
    let parts = std::fs::read_dir(reserve.path("")).expect("the folder");
    let parts: Vec<_> = parts.map(|e| e.expect("an entry").file_name()).collect();
    assert!(
        parts
            .iter()
            .all(|n| !n.to_string_lossy().ends_with(".part")),
        "{parts:?}"
    );
}

#[test]
fn gaps_give_no_rows_and_scarce_species_wait_for_their_birds() {
    let reserve = reserve();
    let path = reserve.path("p.csv");
    let args = [
        "backtest",
        "--from",
        "2016",
        "--to",
        "2020",
        "--predictions",
        path.to_str().expect("UTF-8"),
    ];
    let text = reserve.run(&args).works();
    let rows = read(&std::fs::read_to_string(&path).expect("the file"));
    let of = |year: &str, species: &str| -> Vec<String> {
        let rows = rows.iter().filter(|p| p.species == species);
        let targets = rows.map(|p| p.target.to_string());
        targets.filter(|t| t.starts_with(year)).collect()
    };
    let autumn = |t: &String| &t[5..7] > "06";
    assert!(of("2018", "Calidris alpina").iter().any(autumn));
    assert!(!of("2019", "Calidris alpina").is_empty());
    assert!(
        !of("2019", "Calidris alpina").iter().any(autumn),
        "the autumn of 2019 is a gap"
    );
    // four birds a year, two in 2019: 20 are reached with neither 2019 nor 2020
    assert!(
        rows.iter().all(|p| p.species == "Calidris alpina"),
        "18 birds are too few"
    );
    assert!(rows.iter().any(|p| matches!(p.says, Says::Week(_))));
    assert!(
        text.contains("Left out: dune-wood in 2016, 2017, 2018, 2019 and 2020: no species"),
        "{text}"
    );
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
}

#[test]
fn other_mondays_and_a_single_year_do_as_well() {
    let reserve = reserve();
    let year = ["backtest", "--from", "2018", "--to", "2018", "--json"];
    let summary = reserve
        .run(&[&year[..], &["--mondays", "04-09..04-15"]].concat())
        .json();
    assert_eq!(summary["issued"], serde_json::json!([["04-09", "04-15"]]));
    let site = &summary["sites"][0];
    // one Monday, and visits on 9 days of the four weeks from 9 April 2018
    assert_eq!(site["overall"]["weeks"]["scored"], 4);
    assert_eq!(site["overall"]["counts"]["scored"], 9);
    let gain = &site["overall"]["counts"]["crps"]["gain_on_hand"];
    assert!(
        gain["estimate"].is_f64() && gain["interval"].is_null(),
        "{gain}"
    );
    assert_eq!(summary["all_sites"], serde_json::Value::Null);
}

#[test]
fn the_settings_name_the_mondays_and_the_option_goes_before_them() {
    let reserve = reserve();
    let issued = |more: &[&str]| {
        let year = ["backtest", "--from", "2018", "--to", "2018", "--json"];
        let summary = reserve.run(&[&year[..], more].concat()).json();
        summary["issued"].clone()
    };
    let usual = serde_json::json!([["03-01", "06-05"], ["08-15", "11-30"]]);
    assert_eq!(issued(&[]), usual);
    let path = reserve.path("wingtide.toml");
    let settings = std::fs::read_to_string(&path).expect("the settings");
    let table = "\n[backtest]\nmondays = [\"04-02..04-20\"]\n";
    reserve.write("wingtide.toml", settings + table);
    assert_eq!(issued(&[]), serde_json::json!([["04-02", "04-20"]]));
    let other = issued(&["--mondays", "04-09..04-15"]);
    assert_eq!(other, serde_json::json!([["04-09", "04-15"]]));
}

#[test]
fn the_chart_is_a_picture_and_its_words_are_printed() {
    let reserve = reserve();
    for (name, head) in [("c.png", &b"\x89PNG\r\n"[..]), ("c.svg", b"<svg ")] {
        let path = reserve.path(name);
        let path = path.to_str().expect("UTF-8");
        let ran = reserve.run(&[
            "backtest", "--from", "2018", "--to", "2020", "--chart", path,
        ]);
        assert!(
            ran.err
                .starts_with("The chart shows: How far the forecasts can be trusted, 2018 to 2020")
        );
        ran.works();
        assert!(
            std::fs::read(path).expect("the chart").starts_with(head),
            "{name}"
        );
    }
}
