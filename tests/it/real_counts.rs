//! The real counts through the whole program, against what the tables themselves say and the
//! year curves that R's mgcv fits to them (see `tests/reference/year_curves_mgcv.R`).
//!
//! Source of the tables: Winger, Weeks, Farnsworth, Jones, Hennen & Willard (2019), Dryad,
//! doi:10.5061/dryad.8rr0498, CC0.

use chrono::{Datelike, NaiveDate};
use forecast::series::CountSeries;
use harness::night_migrants::{self, Counted};
use harness::places;
use harness::program::Workspace;
use serde_json::Value;
use std::collections::BTreeMap;

const ABSENT: &str = "../shared/data is absent";
/// Shares are sums of whole birds and one division: only rounding may differ.
const ROUNDING: f64 = 1e-12;
/// Of log means: a hundredth of an 80 % interval's width; nothing printed can change.
const LOG_MEAN: f64 = 0.002;

fn fitted() -> Option<Workspace> {
    let workspace = night_migrants::workspace()?;
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    Some(workspace)
}

#[test]
fn every_record_and_visit_is_told_and_none_is_lost() {
    let Some(workspace) = night_migrants::workspace() else {
        return places::skipped(ABSENT);
    };
    let report = workspace.run(&["load", "--json"]).json();
    let records = &report["sources"][0];
    for key in ["rows", "accepted"] {
        assert_eq!(records[key], 20_662, "{key}");
    }
    assert_eq!(records["refused"], serde_json::json!([]));
    assert_eq!(report["gaps"], serde_json::json!([]));
    let sites = report["sites"].as_array().expect("sites");
    let told = |key: &str| sites.iter().map(|s| s[key].clone()).collect::<Vec<_>>();
    assert_eq!(told("site"), ["MP", "CHI"]);
    assert_eq!(told("visits"), [1954, 1954]);
    let birds: u64 = told("records").iter().filter_map(Value::as_u64).sum();
    assert_eq!(birds, 20_662);
    assert_eq!(names_of(records), names_in_table());
}

/// Species as the report has them.
fn names_of(source: &Value) -> Vec<String> {
    let species = source["species"].as_array().expect("species");
    let name = |s: &Value| s["name"].as_str().expect("a name").to_owned();
    species.iter().map(name).collect()
}

/// The table's names, repaired in case and blanks alone.
fn names_in_table() -> Vec<String> {
    let counted = night_migrants::read().expect("the tables are there");
    let mut names: Vec<String> = counted.into_iter().map(|c| c.species).collect();
    names.sort();
    names.dedup();
    names
}

#[test]
fn loading_again_changes_nothing() {
    let Some(workspace) = fitted() else {
        return places::skipped(ABSENT);
    };
    let before = workspace.store();
    let again = workspace.run(&["load", "--json"]).json();
    assert_eq!(again["unchanged"], true);
    assert!(before == workspace.store(), "the store's files differ");
    let page = workspace.run(&["load"]).works();
    assert!(page.starts_with("Nothing to do"), "{page}");
}

#[test]
fn spring_and_autumn_come_out_as_two_passages() {
    let Some(workspace) = fitted() else {
        return places::skipped(ABSENT);
    };
    let rows = workspace.run(&["windows", "--json"]).json();
    let mut passages: BTreeMap<(String, String), Vec<&Value>> = BTreeMap::new();
    for row in rows.as_array().expect("an array") {
        let text = |key: &str| row[key].as_str().expect("text").to_owned();
        let key = (text("site"), text("species"));
        passages.entry(key).or_default().push(row);
    }
    let counted = night_migrants::read().expect("the tables are there");
    assert_eq!(passages.len(), counted.len(), "every species at its sites");
    let mut both = 0;
    for c in &counted {
        let found = &passages[&(c.site.clone(), c.species.clone())];
        let named: Vec<&str> = found.iter().filter_map(|r| r["passage"].as_str()).collect();
        let birds: u64 = found.iter().filter_map(|r| r["birds"].as_u64()).sum();
        assert_eq!(
            birds,
            c.series.birds(),
            "{} {}: {named:?}",
            c.site,
            c.species
        );
        // 100 birds in either half-year leave no doubt that there are two
        if ["spring", "autumn"]
            .iter()
            .all(|half| birds_in(&c.series, half) >= 100)
        {
            assert_eq!(named, ["spring", "autumn"], "{} {}", c.site, c.species);
            both += 1;
        }
        for row in found.iter().filter(|r| r["verdict"] == "curve") {
            in_its_season(row);
        }
    }
    assert!(both >= 5, "only {both} species have two large passages");
}

/// The walks are made from March to May and from August to November.
fn birds_in(series: &CountSeries, half: &str) -> u64 {
    let inside = |date: NaiveDate| (date.month() <= 6) == (half == "spring");
    let known = series.known().filter(|(v, _)| inside(v.date));
    known.map(|(_, c)| u64::from(c.birds())).sum()
}

fn in_its_season(row: &Value) {
    let half = row["passage"].as_str().expect("a name");
    let days: Vec<&str> = ["arrival", "median", "departure"]
        .iter()
        .map(|key| row[key]["day"].as_str().expect("a date"))
        .collect();
    assert!(days.is_sorted(), "{row}");
    let within = match half {
        "spring" => "02-20" <= days[0] && days[2] <= "06-20",
        "autumn" => "07-20" <= days[0] && days[2] <= "12-20",
        _ => false,
    };
    assert!(within, "{row}");
}

#[test]
fn shares_are_those_of_the_table() {
    let Some(workspace) = fitted() else {
        return places::skipped(ABSENT);
    };
    let counted = night_migrants::read().expect("the tables are there");
    for (site, date) in [
        ("MP", "2011-10-05"),
        ("CHI", "2011-09-20"),
        ("CHI", "2012-05-10"),
    ] {
        let week = workspace
            .run(&["week", "--site", site, "--date", date, "--json"])
            .json();
        let sets = week["sets"].as_array().expect("sets");
        assert_eq!(sets.len(), 6, "{site} {date}");
        let day = date.parse().expect("a date");
        sets.iter()
            .for_each(|set| shares_of(set, site, day, &counted));
    }
}

/// The README's definition worked out from the rows: birds within 7 days of the day of the year
/// (14 where those are under 20), and half a bird spread by the birds of all seasons.
fn shares_of(set: &Value, site: &str, date: NaiveDate, counted: &[Counted]) {
    let members = set["members"].as_array().expect("members");
    let series: Vec<Option<&CountSeries>> = members
        .iter()
        .map(|m| {
            let found = counted
                .iter()
                .find(|c| c.site == site && m["species"] == c.species);
            found.map(|c| &c.series)
        })
        .collect();
    let within = |reach: i64| -> Vec<f64> {
        let birds = |s: &Option<&CountSeries>| s.map_or(0.0, |s| birds_near(s, date, reach));
        series.iter().map(birds).collect()
    };
    let near = within(7);
    let birds = if near.iter().sum::<f64>() < 20.0 {
        within(14)
    } else {
        near
    };
    let all: Vec<f64> = series
        .iter()
        .map(|s| s.map_or(0.0, |s| s.birds() as f64) + 0.5)
        .collect();
    let (total, all_total) = (birds.iter().sum::<f64>(), all.iter().sum::<f64>());
    assert_eq!(set["effective_birds"].as_f64(), Some(total), "{set}");
    for ((member, birds), all) in members.iter().zip(&birds).zip(&all) {
        let expected = (birds + 0.5 * all / all_total) / (total + 0.5);
        let share = member["share"].as_f64().expect("a share");
        assert!(
            (share - expected).abs() < ROUNDING,
            "{date} {member}: expected {expected}"
        );
    }
}

fn birds_near(series: &CountSeries, date: NaiveDate, reach: i64) -> f64 {
    let apart = |d: NaiveDate| {
        let days = (i64::from(d.ordinal()) - i64::from(date.ordinal())).abs();
        days.min(366 - days)
    };
    let near = series.known().filter(|(v, _)| apart(v.date) <= reach);
    near.map(|(_, c)| f64::from(c.birds())).sum()
}

#[test]
fn curves_through_the_program_are_those_of_mgcv() {
    let Some(workspace) = fitted() else {
        return places::skipped(ABSENT);
    };
    let text = std::fs::read_to_string(places::reference("year_curves_mgcv.json")).expect("values");
    let reference: Vec<Value> = serde_json::from_str(&text).expect("JSON");
    for (site, species) in [
        ("MP", "Zonotrichia albicollis"),
        ("MP", "Melospiza melodia"),
        ("CHI", "Seiurus aurocapilla"),
        ("CHI", "Catharus ustulatus"),
    ] {
        let same = |r: &&Value| r["site"] == site && r["species"] == species;
        let reference = reference.iter().find(same).expect("mgcv fitted it");
        let curve = workspace
            .run(&["curve", "--site", site, "--species", species, "--json"])
            .json();
        let number = |v: &Value| v.as_f64().expect("a number");
        let ratio = number(&curve["theta"]) / number(&reference["theta"]);
        assert!(
            (ratio - 1.0).abs() < LOG_MEAN,
            "{species}: theta {ratio} of mgcv's"
        );
        let pairs = curve["log_mean"].as_array().into_iter().flatten();
        let pairs = pairs.zip(reference["log_mean"].as_array().into_iter().flatten());
        let mut compared = 0;
        for (day, (ours, theirs)) in pairs.enumerate() {
            // where the curve is as good as zero its logarithm runs off along a flat likelihood
            if number(theirs).exp() > 0.01 {
                let apart = (number(ours) - number(theirs)).abs();
                assert!(apart < LOG_MEAN, "{species}, day {}: {apart}", day + 1);
                compared += 1;
            }
        }
        assert!(compared > 60, "{species}: {compared} days");
    }
}

#[test]
fn dates_outside_the_walks_are_not_spoken_of() {
    let Some(workspace) = fitted() else {
        return places::skipped(ABSENT);
    };
    let week = |date| {
        workspace
            .run(&["week", "--site", "MP", "--date", date, "--json"])
            .json()
    };
    for (date, watched) in [
        ("2012-01-15", false),
        ("2012-07-10", false),
        ("2012-05-10", true),
    ] {
        let week = week(date);
        assert_eq!(week["watched"], watched, "{date}");
        assert_eq!(
            week["sets"].as_array().is_some_and(Vec::is_empty),
            !watched,
            "{date}"
        );
    }
}
