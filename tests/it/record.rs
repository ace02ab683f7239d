//! The record: forecasts issued week by week, each held to the visits that were loaded
//! afterwards. The tally beside the program's is this file's own, from `week --json`.

use chrono::{Duration, NaiveDate};
use harness::program::Workspace;
use std::fmt::Write;

const SPECIES: [&str; 6] = [
    "Calidris minuta",
    "Calidris alpina",
    "Calidris alba",
    "Tringa totanus",
    "Tringa nebularia",
    "Oenanthe oenanthe",
];

fn settings(visits_assumed: usize) -> String {
    let mut text = format!(
        "[workspace]\nname = \"Skerrow Ness\"\nvisits_assumed = {visits_assumed}\n\n\
         [[site]]\nid = \"long-bank\"\nname = \"Long Bank\"\nlatitude = 54.63\n\
         longitude = -0.41\ntime_zone = \"Europe/London\"\nregion = \"western-palearctic\"\n\n"
    );
    for name in SPECIES {
        writeln!(text, "[[species]]\nscientific = \"{name}\"\n").expect("text");
    }
    text + "[[source]]\nid = \"counts\"\nkind = \"counts\"\nfile = \"counts.csv\"\n\
        date_order = \"year-month-day\"\nsite = \"long-bank\"\nfully_reported = true\n\
        columns = { date = \"Date\", species = \"Species\", count = \"Number\" }\n\n\
        [[source]]\nid = \"visits\"\nkind = \"visits\"\nfile = \"visits.csv\"\n\
        date_order = \"year-month-day\"\nsite = \"long-bank\"\ncolumns = { date = \"Date\" }\n"
}

/// A fixed sequence in 0..1.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// A watcher's notebooks, and what the test itself tallies of the forecasts.
struct Watcher {
    workspace: Workspace,
    counts: String,
    visits: String,
    luck: Chance,
}

impl Watcher {
    /// Six autumns loaded and fitted.
    fn new() -> Self {
        let mut watcher = Watcher {
            workspace: Workspace::empty().with("wingtide.toml", settings(2)),
            counts: "Date,Species,Number\n".to_owned(),
            visits: "Date\n".to_owned(),
            luck: Chance(7),
        };
        for year in 2018..2024 {
            for week in 0..14 {
                watcher.visit(monday(year, week) + Duration::days(1));
                watcher.visit(monday(year, week) + Duration::days(5));
            }
        }
        watcher.load();
        watcher.workspace.run(&["fit"]).works();
        watcher
    }

    /// A visit on which each species is found as often as not; those found.
    fn visit(&mut self, date: NaiveDate) -> Vec<&'static str> {
        writeln!(self.visits, "{date}").expect("text");
        let mut found = Vec::new();
        for name in SPECIES {
            if self.luck.next() < 0.5 {
                let birds = 1 + (3.0 * self.luck.next()) as u32;
                writeln!(self.counts, "{date},{name},{birds}").expect("text");
                found.push(name);
            }
        }
        found
    }

    fn load(&self) {
        self.workspace.write("counts.csv", &self.counts);
        self.workspace.write("visits.csv", &self.visits);
        self.workspace.run(&["load"]).works();
    }

    /// Chances of the week in so many visits, as `week` tells them on its Thursday, of the
    /// species that were ever recorded.
    fn chances(&self, monday: NaiveDate, visits: usize) -> Vec<(String, f64)> {
        self.workspace.write("wingtide.toml", settings(visits));
        let date = (monday + Duration::days(3)).to_string();
        let week = self.workspace.run(&["week", "--json", "--date", &date]);
        self.workspace.write("wingtide.toml", settings(2));
        let week = week.json();
        let sets = week["sets"].as_array().expect("sets").iter();
        let members = sets.flat_map(|s| s["members"].as_array().expect("members"));
        let others = week["others"].as_array().expect("others");
        members
            .chain(others)
            .map(|m| {
                let name = m["species"].as_str().expect("a name");
                (
                    name.to_owned(),
                    m["chance_week"].as_f64().expect("a chance"),
                )
            })
            .filter(|(name, _)| SPECIES.contains(&name.as_str()))
            .collect()
    }

    /// The digest's footer on the record.
    fn footer(&self, date: NaiveDate) -> String {
        let out = self.workspace.path("digest");
        let (out, date) = (out.to_str().expect("a plain path"), date.to_string());
        self.workspace
            .run(&["digest", "--out", out, "--date", &date])
            .works();
        let text = std::fs::read_to_string(self.workspace.path("digest/digest.txt"));
        let text = text.expect("a digest");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Forecasts issued and scored so far, as `week --record` says.
    fn scored(&self, date: NaiveDate) -> usize {
        let text = self
            .workspace
            .run(&["week", "--record", "--date", &date.to_string()])
            .works();
        let Some((_, rest)) = text.split_once("issued: ") else {
            panic!("no record in {text}");
        };
        match rest.strip_prefix("no forecast yet") {
            Some(_) => 0,
            None => rest
                .split_whitespace()
                .next()
                .and_then(|n| n.parse().ok())
                .expect("a number"),
        }
    }
}

/// Mondays of an autumn, from early August.
fn monday(year: i32, week: i64) -> NaiveDate {
    let august = NaiveDate::from_ymd_opt(year, 8, 8).expect("a date");
    forecast::calendar::IsoWeek::of(august).monday() + Duration::weeks(week)
}

/// Forecasts and what came, as (chance for the visits made, found).
type Tally = Vec<(f64, bool)>;

/// The bin that the footer quotes: tenths from 50 % to 90 %, twenty forecasts at least, the mean
/// nearest to 70 %.
fn quoted(tally: &Tally) -> Option<(usize, usize)> {
    let bins = (5..9).map(|tenth| {
        let low = f64::from(tenth) / 10.0;
        let inside: Vec<_> = tally
            .iter()
            .filter(|(p, _)| (low..low + 0.1).contains(p))
            .collect();
        let mean = inside.iter().map(|(p, _)| p).sum::<f64>() / inside.len().max(1) as f64;
        let found = inside.iter().filter(|(_, found)| *found).count();
        ((mean - 0.7).abs(), (inside.len(), found))
    });
    bins.filter(|(_, (times, _))| *times >= 20)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, told)| told)
}

#[test]
fn forecasts_are_held_to_the_visits_that_came_after_them() {
    let mut watcher = Watcher::new();
    let mut tally = Tally::new();
    let looking_back = watcher.footer(monday(2024, 0));
    assert!(
        looking_back.contains("Looking back over 2021 to 2023"),
        "{looking_back}"
    );
    for week in 0..12 {
        let monday = monday(2024, week);
        // said weeks ahead too, from less: what was said last counts
        let ahead = monday + Duration::weeks(3);
        watcher.footer(ahead);
        let made = 1 + week as usize % 3;
        let said = watcher.chances(monday, made);
        assert_eq!(said.len(), SPECIES.len());
        watcher.footer(monday + Duration::days(2));
        let days = [1, 4, 6].into_iter().take(made);
        let found: Vec<&str> = days
            .flat_map(|d| watcher.visit(monday + Duration::days(d)))
            .collect();
        watcher.load();
        let came = said
            .iter()
            .map(|(name, p)| (*p, found.contains(&name.as_str())));
        tally.extend(came);
        let next = monday + Duration::weeks(1);
        assert_eq!(watcher.scored(next), tally.len());
        assert_eq!(
            watcher.scored(monday + Duration::days(6)),
            tally.len() - said.len(),
            "a week is not over on its Sunday"
        );
        let footer = watcher.footer(next);
        match quoted(&tally) {
            None => assert!(footer.contains("Looking back over"), "{footer}"),
            Some((times, found)) => {
                let wanted = format!("Of the last {times} times that we said about ");
                assert!(footer.contains(&wanted), "{wanted}: {footer}");
                let wanted = format!(
                    "since that of {}), the bird was found in {found}.",
                    "5 August 2024"
                );
                assert!(footer.contains(&wanted), "{wanted}: {footer}");
            }
        }
    }
    assert!(quoted(&tally).is_some(), "no bin filled: {tally:?}");
}

#[test]
fn what_is_said_of_a_week_that_has_begun_is_no_forecast() {
    let mut watcher = Watcher::new();
    let first = monday(2024, 0);
    watcher.visit(first);
    watcher.load();
    for day in [0, 3, 6] {
        watcher.footer(first + Duration::days(day));
    }
    watcher.visit(first + Duration::days(6));
    watcher.load();
    let next = first + Duration::weeks(1);
    assert_eq!(watcher.scored(next), 0);
    // nor is a look at years gone by
    watcher.footer(monday(2021, 5));
    assert_eq!(watcher.scored(next), 0);
    // forecast, but nobody went; then forecast, and somebody did
    watcher.footer(next);
    watcher.footer(monday(2024, 2));
    watcher.visit(monday(2024, 2));
    watcher.load();
    assert_eq!(watcher.scored(monday(2024, 3)), SPECIES.len());
}

#[test]
fn a_half_year_without_records_gives_nothing() {
    let mut watcher = Watcher::new();
    watcher.footer(monday(2024, 0));
    // a second half of 2024 with visits and no record, and a later season that shows it over
    writeln!(watcher.visits, "{}", monday(2024, 0)).expect("text");
    for week in 0..3 {
        watcher.visit(monday(2025, week));
    }
    watcher.load();
    assert_eq!(watcher.scored(monday(2025, 4)), 0);
}
