//! What `wingtide plan` answers, and what stops it.

use super::{SITES, autumn, number, reserve, target, text, visits};
use chrono::{Datelike, NaiveDate, Weekday};
use harness::reserve::counts;
use std::collections::BTreeMap;

fn date(text: &str) -> NaiveDate {
    text.parse().expect("an ISO date")
}

#[test]
fn a_plan_keeps_its_rules_and_says_how_far_it_is_from_the_best() {
    let workspace = reserve("");
    let rules = [
        "--visits",
        "6",
        "--weekdays",
        "sat,sun",
        "--gap",
        "6",
        "--not",
        "2024-09-07",
    ];
    let more = ["--not", "09-15", "--per-week", "1", "--rain", "3", "--json"];
    let plan = autumn(&workspace, "2024-07-20", &[&rules[..], &more].concat()).json();
    let mut of_site: BTreeMap<&str, Vec<NaiveDate>> = BTreeMap::new();
    let mut weeks = Vec::new();
    assert_eq!(visits(&plan).len(), 6);
    for visit in visits(&plan) {
        let on = date(text(visit, "date"));
        assert!(
            [Weekday::Sat, Weekday::Sun].contains(&on.weekday()),
            "{visit}"
        );
        assert!(
            ![date("2024-09-07"), date("2024-09-15")].contains(&on),
            "{visit}"
        );
        of_site.entry(text(visit, "site")).or_default().push(on);
        weeks.push(on.iso_week());
        if let Some(rain) = visit["rain_date"].as_str() {
            let days = (date(rain) - on).num_days();
            assert!(
                (1..=3).contains(&days) && number(visit, "lost_by_rain") > -1e-9,
                "{visit}"
            );
        }
    }
    let apart = |dates: &Vec<NaiveDate>| dates.windows(2).all(|p| (p[1] - p[0]).num_days() >= 6);
    assert!(of_site.values().all(apart), "{of_site:?}");
    assert!(
        weeks.windows(2).all(|w| w[0] < w[1]),
        "one visit a week: {weeks:?}"
    );
    let (expected, at_most) = (number(&plan, "expected"), number(&plan, "at_most"));
    assert!(
        expected <= at_most && expected > 0.98 * at_most,
        "{expected} {at_most}"
    );
    // the truth of the counts: stints peak on day 249 with a spread of 9 days
    let near = |d: &&NaiveDate| (i64::from(d.ordinal()) - 250).abs() <= 10;
    assert!(
        of_site.values().flatten().filter(near).count() >= 2,
        "{of_site:?}"
    );
    let stint = target(&plan, "Calidris minuta");
    assert!(number(stint, "chance") > 0.9, "{stint}");
    assert!(number(stint, "visits_for_80") <= number(stint, "visits_for_95"));
}

#[test]
fn settings_hold_where_the_command_says_nothing() {
    let workspace = reserve(
        "\n[plan]\nvisits = 3\nsites = [\"outer-ness\"]\nweekdays = [\"wed\"]\n\
        targets = [\"Little Stint\"]\nnot = [\"09-04\"]\n",
    );
    let plan = autumn(&workspace, "2024-07-20", &["--json"]).json();
    assert_eq!(plan["sites"], serde_json::json!(["outer-ness"]));
    assert_eq!(plan["targets"].as_array().map(Vec::len), Some(1));
    assert_eq!(visits(&plan).len(), 3);
    for visit in visits(&plan) {
        let on = date(text(visit, "date"));
        assert!(
            on.weekday() == Weekday::Wed && on != date("2024-09-04"),
            "{visit}"
        );
    }
    let other = [
        "--site",
        "long-bank",
        "--visits",
        "1",
        "--weekdays",
        "fri",
        "--json",
    ];
    let plan = autumn(&workspace, "2024-07-20", &other).json();
    assert_eq!(visits(&plan).len(), 1);
    assert_eq!(
        date(text(&visits(&plan)[0], "date")).weekday(),
        Weekday::Fri
    );
}

#[test]
fn enough_visits_make_every_target_that_can_be_had_sure() {
    let workspace = reserve("");
    for sure in [80.0, 95.0] {
        let plan = autumn(
            &workspace,
            "2024-07-20",
            &["--sure", &sure.to_string(), "--json"],
        )
        .json();
        assert!(plan["at_most"].is_null(), "{plan}");
        for target in plan["targets"].as_array().expect("targets") {
            let enough = number(target, "chance") >= sure / 100.0;
            assert_eq!(target["out_of_reach"], !enough, "{target}");
        }
        assert!(!visits(&plan).is_empty());
    }
}

#[test]
fn the_screen_keeps_to_its_columns_and_says_what_each_date_is_for() {
    let workspace = reserve("");
    let ran = autumn(&workspace, "2024-07-20", &["--visits", "4", "--rain", "4"]);
    assert!(ran.err.contains("not kept"), "{}", ran.err);
    let shown = ran.works();
    for line in shown.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    for part in [
        "Visits to Long Bank and Outer Ness",
        "4 visits to come",
        "For ",
        "If it rains: ",
    ] {
        assert!(shown.contains(part), "{part}: {shown}");
    }
    assert!(shown.contains("No choice within the rules"), "{shown}");
    assert!(
        shown.contains("A forecast never identifies a bird"),
        "{shown}"
    );
}

/// Two targets that are about at different times, and one visit: it goes where more is to be had.
#[test]
fn a_target_that_counts_more_draws_the_dates() {
    let rows = (2014..2024).flat_map(|year| {
        let day = move |day: u32| format!("{year}-08-{day:02},long-bank,Calidris alba,3\n");
        [1, 4, 7, 9, 11].map(day)
    });
    let workspace = reserve("");
    workspace.write("counts.csv", counts(&SITES) + &rows.collect::<String>());
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let best = |targets: [&str; 2]| {
        let one = ["--visits", "1", "--site", "long-bank", "--json"];
        let named = ["--target", targets[0], "--target", targets[1]];
        autumn(&workspace, "2024-07-20", &[&one[..], &named].concat()).json()
    };
    let month = |plan: &serde_json::Value| date(text(&visits(plan)[0], "date")).month();
    let early = best(["Calidris alba=5", "Little Stint"]);
    let late = best(["Calidris alba", "Little Stint=5"]);
    assert_eq!((month(&early), month(&late)), (8, 9), "{early} {late}");
    let alba = target(&early, "Calidris alba");
    assert_eq!(number(alba, "weight"), 5.0);
    let worth: f64 = early["targets"]
        .as_array()
        .expect("targets")
        .iter()
        .map(|t| number(t, "weight") * number(t, "chance"))
        .sum();
    assert!((worth - number(&early, "expected")).abs() < 1e-9, "{early}");
    let shown = autumn(
        &workspace,
        "2024-07-20",
        &["--target", "all", "--target", "Dunlin=2"],
    );
    let shown = shown.works();
    let named_again = ["--target", "Little Stint=3", "--target", "all"];
    let again = autumn(
        &workspace,
        "2024-07-20",
        &[&named_again[..], &["--json"]].concat(),
    )
    .json();
    assert_eq!(number(target(&again, "Calidris minuta"), "weight"), 3.0);
    assert!(
        shown.contains("by their weights worth") && shown.contains("(weight 2)"),
        "{shown}"
    );
}

/// A misspelt name in the counts looks like a scientific one, and is no target for all that.
#[test]
fn a_slip_in_the_counts_is_no_target() {
    let workspace = reserve("");
    let slips =
        "2023-09-05,long-bank,Calidris minutta,2\n2022-09-05,long-bank,Calidris minutta,1\n";
    workspace.write("counts.csv", counts(&SITES) + slips);
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let named = autumn(&workspace, "2024-07-20", &["--target", "Calidris minutta"]).fails();
    assert!(named.contains("looks like a slip"), "{named}");
    assert!(
        named.contains("did you mean \"Calidris minuta\"?"),
        "{named}"
    );
    let all = autumn(&workspace, "2024-07-20", &["--json"]);
    assert!(
        all.err.contains("\"Calidris minutta\" was counted"),
        "{}",
        all.err
    );
    let plan = all.json();
    let targets = plan["targets"].as_array().expect("targets").iter();
    assert!(
        targets.clone().all(|t| t["species"] != "Calidris minutta"),
        "{plan}"
    );
}

#[test]
fn the_table_has_a_row_for_each_visit() {
    let workspace = reserve("");
    let file = workspace.path("plan.csv");
    let path = file.to_str().expect("a plain path");
    let plan = autumn(
        &workspace,
        "2024-07-20",
        &["--visits", "4", "--csv", path, "--json"],
    )
    .json();
    let mut reader = csv::Reader::from_path(&file).expect("the table");
    let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().expect("rows");
    let told: Vec<(&str, &str)> = rows.iter().map(|r| (&r[0], &r[1])).collect();
    let planned = visits(&plan)
        .iter()
        .map(|v| (text(v, "date"), text(v, "site")));
    assert_eq!(told, planned.collect::<Vec<_>>());
}

#[test]
fn a_start_goes_by_the_sun_or_by_the_first_high_water_in_daylight() {
    let workspace = reserve("");
    workspace.write(
        "tides.csv",
        "date,time,height\n2024-09-04,00:30,4.6\n2024-09-04,06:40,1.2\n2024-09-04,12:50,4.9\n\
         2024-09-04,19:05,1.0\n",
    );
    let tides = workspace.path("tides.csv");
    let tides = tides.to_str().expect("a plain path");
    let only = |more: &[&str]| {
        let day = [
            "plan",
            "--from",
            "2024-09-04",
            "--to",
            "2024-09-04",
            "--date",
            "2024-09-01",
        ];
        let rest = ["--site", "long-bank", "--visits", "1", "--json"];
        workspace.run(&[&day[..], &rest, more].concat()).json()
    };
    let by_sun = only(&[]);
    let sunrise = text(&visits(&by_sun)[0], "sunrise").to_owned();
    let start = text(&visits(&by_sun)[0], "start").to_owned();
    let utc = chrono::DateTime::parse_from_rfc3339(&start).expect("a time");
    let local = utc
        .with_timezone(&chrono_tz::Europe::London)
        .format("%H:%M")
        .to_string();
    assert_eq!(local, sunrise);
    let by_tide = only(&["--tides", tides]);
    // high water 12:50 summer time is 11:50 UTC, and two hours before it 09:50
    assert_eq!(text(&visits(&by_tide)[0], "start"), "2024-09-04T09:50:00Z");
    assert_eq!(text(&visits(&by_tide)[0], "high_water"), "12:50");
}
