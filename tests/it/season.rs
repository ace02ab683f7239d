//! Seasons of the real counts: every sentence that is printed is read back and held to the numbers
//! that other programs get, and the first dates among them to the tables themselves.
//!
//! Source of the tables: Winger, Weeks, Farnsworth, Jones, Hennen & Willard (2019), Dryad,
//! doi:10.5061/dryad.8rr0498, CC0.

use chrono::{Datelike, NaiveDate};
use forecast::calendar::MonthDay;
use forecast::series::CountSeries;
use harness::night_migrants;
use harness::places;
use harness::program::Workspace;
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::LazyLock;

const ABSENT: &str = "../shared/data is absent";

/// Site and the rest of the command line of each report that is read.
const ASKED: [&[&str]; 12] = [
    &["MP", "--season", "2010-spring"],
    &["MP", "--season", "2010-autumn"],
    &["MP", "--season", "2011-spring"],
    &["MP", "--season", "2011-autumn"],
    &["CHI", "--season", "2010-spring"],
    &["CHI", "--season", "2010-autumn"],
    &["CHI", "--season", "2011-spring"],
    &["CHI", "--season", "2011-autumn"],
    &["MP", "--date", "2010-10-08"],
    &["CHI", "--date", "2010-05-12"],
    &["CHI", "--date", "2011-09-20"],
    &["MP", "--date", "2011-04-20"],
];

/// One report: what is printed, the page's sentences, and the JSON.
struct Told {
    asked: String,
    text: String,
    page: String,
    json: Value,
}

static TOLD: LazyLock<Option<Vec<Told>>> = LazyLock::new(|| {
    let workspace = night_migrants::workspace()?;
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    Some(ASKED.iter().map(|a| told(&workspace, a)).collect())
});

fn told(workspace: &Workspace, asked: &[&str]) -> Told {
    let path = workspace.path("season.html");
    let page = ["--page", path.to_str().expect("a plain path")];
    let command = [&["season", "--site"], asked].concat();
    let text = workspace.run(&[&command[..], &["--all"], &page].concat());
    Told {
        asked: asked.join(" "),
        text: text.works(),
        page: std::fs::read_to_string(&path).expect("the page"),
        json: workspace.run(&[&command[..], &["--json"]].concat()).json(),
    }
}

fn all() -> Option<&'static Vec<Told>> {
    if TOLD.is_none() {
        places::skipped(ABSENT);
    }
    TOLD.as_ref()
}

/// Paragraphs behind "- ", joined again.
fn bullets(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for line in text.lines() {
        match (
            line.strip_prefix("- "),
            line.strip_prefix("  "),
            all.last_mut(),
        ) {
            (Some(first), ..) => all.push(first.to_owned()),
            (None, Some(more), Some(last)) if !last.ends_with('\n') => {
                last.push(' ');
                last.push_str(more);
            }
            (None, _, Some(last)) if !last.ends_with('\n') => last.push('\n'),
            _ => {}
        }
    }
    all.into_iter().map(|b| b.trim_end().to_owned()).collect()
}

/// The same of the page: the paragraph below each passage's heading.
fn paragraphs(page: &str) -> Vec<String> {
    let sections = page.split("<section>").skip(1);
    let paragraph = |s: &str| {
        let (_, rest) = s.split_once("<p>").expect("a paragraph");
        let (text, _) = rest.split_once("</p>").expect("its end");
        text.replace('\u{a0}', " ").replace("&#x27;", "'")
    };
    sections.map(paragraph).collect()
}

/// The passage that a paragraph is about: no names are listed, so scientific ones are shown.
fn about<'a>(paragraph: &'a str, json: &'a Value) -> (&'a Value, Vec<&'a str>) {
    let (who, rest) = paragraph.split_once(": ").expect("who it is about");
    let (species, passage) = who.rsplit_once(", ").expect("a species and a passage");
    let passages = json["passages"].as_array().expect("passages");
    let same = |p: &&Value| p["species"] == species && p["passage"] == passage;
    let found = passages.iter().find(same);
    (
        found.unwrap_or_else(|| panic!("{who}")),
        rest.split_inclusive(". ").collect(),
    )
}

/// Is a printed number that of the document, to its last digit?
fn same(printed: &str, number: &Value) -> bool {
    let decimals = printed.split_once('.').map_or(0, |(_, d)| d.len() as i32);
    let value: f64 = printed
        .parse()
        .unwrap_or_else(|_| panic!("{printed:?} is no number"));
    let exact = number.as_f64().expect("a number");
    (value - exact).abs() <= 0.5 * 10f64.powi(-decimals) + 1e-9
}

/// "3 days early" as days late.
fn days(text: &str) -> String {
    match text.split(' ').collect::<Vec<_>>()[..] {
        ["about", "on", "time"] => "0".to_owned(),
        [n, "day" | "days", "early"] => format!("-{n}"),
        [n, "day" | "days", "late"] => n.to_owned(),
        _ => panic!("no days: {text:?}"),
    }
}

/// Both ends of "2 to 7 early", "2 early to 3 late", "0 to 3 late" as days late.
fn days_interval(text: &str) -> [String; 2] {
    match text.split(' ').collect::<Vec<_>>()[..] {
        [a, "to", b, "early"] => [format!("-{b}"), format!("-{a}")],
        [a, "early", "to", b, "late"] => [format!("-{a}"), b.to_owned()],
        [a, "to", b, "late"] => [a.to_owned(), b.to_owned()],
        _ => panic!("no interval: {text:?}"),
    }
}

/// A part: "under 1 %", "over 99 %" or whole percents.
fn part(printed: &str, share: &Value) -> bool {
    let share = share.as_f64().expect("a share");
    match printed.trim_end_matches(" %") {
        "under 1" => share < 0.005,
        "over 99" => share >= 0.995,
        n => same(n, &Value::from(100.0 * share)),
    }
}

/// Takes the text before a sign off the front.
fn before<'a>(text: &mut &'a str, sign: &str) -> &'a str {
    let (head, rest) = text
        .split_once(sign)
        .unwrap_or_else(|| panic!("no {sign:?} in {text:?}"));
    *text = rest;
    head
}

/// "4 days early (80 % interval 2 to 7 early), 0.6 times the usual numbers (0.4 to 0.9)[, 55 %
/// through (40 % to 70 %)]."
fn standing(mut text: &str, p: &Value) {
    let shown = text.to_owned();
    let (late, times, share) = (&p["days_late"], &p["times_usual"], &p["share"]);
    assert!(
        same(
            &days(before(&mut text, " (80 % interval ")),
            &late["middle"]
        ),
        "{shown} {p}"
    );
    let ends = days_interval(before(&mut text, "), "));
    assert!(
        same(&ends[0], &late["interval"][0]) && same(&ends[1], &late["interval"][1]),
        "{shown} {p}"
    );
    assert!(
        same(
            before(&mut text, " times the usual numbers ("),
            &times["middle"]
        ),
        "{shown} {p}"
    );
    assert!(
        same(before(&mut text, " to "), &times["interval"][0]),
        "{shown} {p}"
    );
    assert!(
        same(before(&mut text, ")"), &times["interval"][1]),
        "{shown} {p}"
    );
    if p["stage"] == "over" {
        return assert_eq!(text, ".", "{shown}");
    }
    before(&mut text, ", ");
    assert!(
        part(before(&mut text, " through ("), &share["middle"]),
        "{shown} {p}"
    );
    assert!(
        part(before(&mut text, " to "), &share["interval"][0]),
        "{shown} {p}"
    );
    assert!(
        part(before(&mut text, ")."), &share["interval"][1]),
        "{shown} {p}"
    );
}

fn usual(printed: &str, p: &Value) -> bool {
    let exact = p["usual_birds"].as_f64().expect("birds");
    let Ok(value) = printed.parse::<f64>() else {
        return printed == "under 0.01" && exact < 0.01;
    };
    // two figures
    (value / exact - 1.0).abs() <= 0.0501 || (value - exact).abs() <= 0.0051
}

/// "1 bird in 62 visits, where 7.2 are usual; that fits early and late alike."
fn untold(mut text: &str, p: &Value) {
    let shown = text.to_owned();
    if p["untold"] == "no-visit" {
        return assert_eq!(text, "no visit yet that would tell.");
    }
    let birds = before(&mut text, " in ");
    let birds = birds
        .split(' ')
        .next()
        .expect("birds")
        .replace("not", "0")
        .replace(',', "");
    assert!(same(&birds, &p["birds"]), "{shown} {p}");
    let visits = before(&mut text, " visit").replace(',', "");
    assert!(same(&visits, &p["visits"]), "{shown} {p}");
    before(&mut text, "where ");
    assert!(usual(before(&mut text, " are usual"), p), "{shown} {p}");
    let ending = match p["untold"].as_str() {
        Some("no-bird") => ".",
        Some("vague") => "; that fits early and late alike.",
        other => panic!("{other:?}"),
    };
    assert_eq!(text, ending, "{shown}");
}

/// How often a usual season looks so far off.
fn odd(text: &str, p: &Value) {
    let chance = p["odd"]["chance"].as_f64().expect("a chance");
    let said = text.strip_prefix("Of a hundred usual seasons ");
    match said.map(|s| s.split(' ').next().unwrap_or_default()) {
        None => assert!(
            text == "Nothing out of the ordinary." && chance > 0.2,
            "{text} {p}"
        ),
        Some("not") => assert!(chance < 0.01, "{text} {p}"),
        Some(n) => assert!(
            same(n, &Value::from(100.0 * chance)) && (0.01..=0.2).contains(&chance),
            "{text} {p}"
        ),
    }
}

/// The first date and its place.
fn first(mut text: &str, p: &Value) {
    let (shown, f) = (text.to_owned(), &p["first"]);
    if let Some(rest) = text.strip_prefix("Not found yet; by this day it had been found in ") {
        let mut rest = rest;
        assert!(f["date"].is_null(), "{shown}");
        assert!(same(before(&mut rest, " of "), &f["found"]), "{shown} {p}");
        return assert!(
            same(before(&mut rest, " other years"), &f["others"]),
            "{shown} {p}"
        );
    }
    before(&mut text, "First found on ");
    let date: NaiveDate = f["date"].as_str().expect("a date").parse().expect("ISO");
    assert!(
        text.starts_with(&date.format("%-d %B").to_string()),
        "{shown} {p}"
    );
    if text.contains("first visit") {
        return assert_eq!(f["on_first_visit"], true, "{shown}");
    }
    if text.contains("too few") {
        return assert!(
            f["others"].as_u64() < Some(5) && f["earlier"].is_null(),
            "{shown} {p}"
        );
    }
    let (_, mut place) = text.split_once(", the ").expect("a place");
    let rank = match place.strip_prefix("earliest") {
        Some(_) => "1".to_owned(),
        None => before(&mut place, " earliest")
            .trim_end_matches(char::is_alphabetic)
            .to_owned(),
    };
    let next = |key: &str| Value::from(f[key].as_u64().expect("a number") + 1);
    assert!(same(&rank, &next("earlier")), "{shown} {p}");
    before(&mut place, "of the ");
    assert!(
        same(before(&mut place, " years"), &next("others")),
        "{shown} {p}"
    );
    match place.split_once("shared with ") {
        Some((_, n)) => assert!(
            same(n.split(' ').next().expect("n"), &f["same"]),
            "{shown} {p}"
        ),
        None => assert_eq!(f["same"], 0, "{shown} {p}"),
    }
}

/// What temperature foretold, and how dates moved over the years.
fn years(text: &str, p: &Value) -> bool {
    if let Some(rest) = text.strip_prefix("By the temperatures before it, it was to run ") {
        let end = rest.find([';', ',']).unwrap_or(rest.len() - 1);
        assert!(
            same(
                &days(rest[..end].trim_end_matches('.')),
                &p["temperature"]["expected_days"]
            ),
            "{text} {p}"
        );
        return true;
    }
    if let Some(moved) = text.strip_prefix("Over the years: ") {
        let mut said = 0;
        for date in ["arrival", "median", "departure"] {
            let change = &p["change"][date];
            if change.is_null() || change["moved"] == "not-found" {
                assert!(!moved.contains(&format!("{date} ")), "{text} {p}");
                continue;
            }
            let rate = change["days_per_decade"].as_f64().expect("days");
            let way = if rate < 0.0 { "earlier" } else { "later" };
            let words = format!("{date} {:.1} days {way} a decade", rate.abs());
            assert!(moved.contains(&words), "{text}: {words}");
            said += 1;
        }
        assert!(said > 0, "{text}");
        return true;
    }
    text.starts_with("Its timing follows the temperature")
        && p["temperature"]["expected_days"].is_null()
}

/// Reads a paragraph; gives how many sentences it has.
fn read(paragraph: &str, json: &Value) -> usize {
    let (p, sentences) = about(paragraph, json);
    for (i, sentence) in sentences.iter().map(|s| s.trim_end()).enumerate() {
        match sentence {
            s if i == 0 && p["untold"].is_null() => standing(s, p),
            s if i == 0 => untold(s, p),
            s if s.starts_with("Of a hundred") || s.starts_with("Nothing out") => odd(s, p),
            s if s.starts_with("First found") || s.starts_with("Not found") => first(s, p),
            s => assert!(years(s, p), "not understood: {s:?}"),
        }
    }
    sentences.len()
}

#[test]
fn every_sentence_says_what_the_numbers_say() {
    let Some(all) = all() else { return };
    let mut sentences = 0;
    for told in all {
        let passages = told.json["passages"].as_array().expect("passages").len();
        for said in [bullets(&told.text), paragraphs(&told.page)] {
            assert_eq!(said.len(), passages, "{}", told.asked);
            sentences += said.iter().map(|p| read(p, &told.json)).sum::<usize>();
        }
        assert!(
            told.text.lines().all(|l| l.chars().count() <= 80),
            "{}",
            told.text
        );
    }
    println!("{sentences} sentences read");
    assert!(sentences > 1000, "only {sentences}");
}

#[test]
fn the_summary_counts_what_the_numbers_say() {
    let Some(all) = all() else { return };
    for told in all {
        let passages = told.json["passages"].as_array().expect("passages");
        let flowing = told.text.split_whitespace().collect::<Vec<_>>().join(" ");
        let Some((_, said)) = flowing.split_once("told of, ") else {
            assert!(
                passages.iter().all(|p| p["days_late"].is_null()),
                "{}",
                told.asked
            );
            continue;
        };
        let number = |key: &str, end: usize, beyond: f64, above: bool| {
            let inside = |p: &&Value| {
                p[key]["interval"][end]
                    .as_f64()
                    .is_some_and(|x| if above { x > beyond } else { x < beyond })
            };
            passages.iter().filter(inside).count()
        };
        let expected = format!(
            "{} run early, {} late, {} strong and {} weak",
            number("days_late", 1, 0.0, false),
            number("days_late", 0, 0.0, true),
            number("times_usual", 0, 1.0, true),
            number("times_usual", 1, 1.0, false),
        );
        assert!(
            said.starts_with(&expected),
            "{}: {expected}\n{said}",
            told.asked
        );
        let chance = |p: &Value| p["odd"]["chance"].as_f64();
        let odd = passages
            .iter()
            .filter(|p| chance(p).is_some_and(|c| c <= 0.05));
        let known = passages.iter().filter(|p| chance(p).is_some());
        let words = format!("{} of {} passage", odd.count(), known.count());
        assert!(said.contains(&words), "{}: {words}\n{said}", told.asked);
        // the oddest first, those not told last
        let order: Vec<f64> = passages.iter().map(|p| chance(p).unwrap_or(2.0)).collect();
        assert!(order.is_sorted(), "{}", told.asked);
    }
}

/// First dates by year of one half of the year, from the table.
fn first_dates(series: &CountSeries, spring: bool) -> BTreeMap<i32, NaiveDate> {
    let mut dates = BTreeMap::new();
    for (visit, count) in series.known() {
        if (visit.date.month() <= 6) == spring && count.birds() > 0 {
            dates.entry(visit.year()).or_insert(visit.date);
        }
    }
    dates
}

#[test]
fn first_dates_and_their_places_are_those_of_the_table() {
    let Some(all) = all() else { return };
    let counted = night_migrants::read().expect("the tables are there");
    let mut compared = 0;
    for told in all.iter().filter(|t| !t.json["season"].is_null()) {
        for p in told.json["passages"].as_array().expect("passages") {
            let of = |c: &&night_migrants::Counted| {
                told.json["site"] == *c.site && p["species"] == *c.species
            };
            let series = &counted.iter().find(of).expect("counted").series;
            let year = p["year"].as_i64().expect("a year") as i32;
            let dates = first_dates(series, p["passage"] == "spring");
            let date = dates.get(&year).copied();
            assert_eq!(
                p["first"]["date"],
                serde_json::json!(date),
                "{} {p}",
                told.asked
            );
            let (Some(date), Some(earlier)) = (date, p["first"]["earlier"].as_u64()) else {
                continue;
            };
            let before = dates
                .iter()
                .filter(|(y, d)| **y != year && MonthDay::from(**d) < MonthDay::from(date));
            assert_eq!(before.count() as u64, earlier, "{} {p}", told.asked);
            compared += 1;
        }
    }
    assert!(compared > 80, "only {compared}");
}

/// Days late of whole seasons against a plainer measure: the median date of the birds, less the
/// mean of the other years' medians. Both scatter, so they agree only on the whole.
#[test]
fn days_late_go_with_the_median_dates_of_the_table() {
    let Some(all) = all() else { return };
    let counted = night_migrants::read().expect("the tables are there");
    let mut pairs: Vec<(f64, f64)> = Vec::new();
    for told in all.iter().filter(|t| !t.json["season"].is_null()) {
        for p in told.json["passages"].as_array().expect("passages") {
            let of = |c: &&night_migrants::Counted| {
                told.json["site"] == *c.site && p["species"] == *c.species
            };
            let series = &counted.iter().find(of).expect("counted").series;
            let year = p["year"].as_i64().expect("a year") as i32;
            let (Some(late), Some(plain)) = (
                p["days_late"]["middle"].as_f64(),
                median_late(series, p["passage"] == "spring", year),
            ) else {
                continue;
            };
            pairs.push((late, plain));
        }
    }
    let r = correlation(&pairs);
    println!("{} passages, correlation {r:.2}", pairs.len());
    assert!(pairs.len() >= 25 && r > 0.6, "{r} of {}", pairs.len());
}

/// None with fewer than 30 birds in the season, or in fewer than five others.
fn median_late(series: &CountSeries, spring: bool, year: i32) -> Option<f64> {
    let mut days: BTreeMap<i32, Vec<f64>> = BTreeMap::new();
    for (visit, count) in series
        .known()
        .filter(|(v, _)| (v.date.month() <= 6) == spring)
    {
        let birds = count.birds() as usize;
        let day = f64::from(visit.date.ordinal());
        days.entry(visit.year())
            .or_default()
            .extend(std::iter::repeat_n(day, birds));
    }
    days.retain(|_, birds| birds.len() >= 30);
    let median = |birds: &Vec<f64>| birds[birds.len() / 2];
    let own = median(days.get(&year)?);
    let others: Vec<f64> = days
        .iter()
        .filter(|(y, _)| **y != year)
        .map(|(_, b)| median(b))
        .collect();
    (others.len() >= 5).then(|| own - others.iter().sum::<f64>() / others.len() as f64)
}

/// Pearson's.
fn correlation(pairs: &[(f64, f64)]) -> f64 {
    let n = pairs.len() as f64;
    let mean = |of: &dyn Fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / n;
    let (x, y) = (mean(&|p| p.0), mean(&|p| p.1));
    let both = mean(&|p| (p.0 - x) * (p.1 - y));
    both / (mean(&|p| (p.0 - x).powi(2)) * mean(&|p| (p.1 - y).powi(2))).sqrt()
}

#[test]
fn a_season_that_is_not_there_is_said_so() {
    let Some(workspace) = night_migrants::workspace() else {
        return places::skipped(ABSENT);
    };
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let said = |season| {
        workspace
            .run(&["season", "--site", "MP", "--season", season])
            .fails()
    };
    assert!(said("1990-spring").contains("visits of spring are loaded from 2000 to 2011"));
    assert!(said("2010-winter").contains("no species has a winter passage at MP"));
}
