//! One sentence of a report held to the numbers of its passage.

use chrono::NaiveDate;
use serde_json::Value;

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
pub(super) fn standing(mut text: &str, p: &Value) {
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
    let stale = p["unknown_days"] != 0;
    if p["stage"] == "over" && !stale {
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
        part(before(&mut text, ")"), &share["interval"][1]),
        "{shown} {p}"
    );
    match stale {
        true => assert_eq!(
            text,
            format!(" by {}, the last visit.", last_visit(p)),
            "{shown}"
        ),
        false => assert_eq!(text, ".", "{shown}"),
    }
}

fn usual(printed: &str, p: &Value) -> bool {
    let exact = p["usual_birds"].as_f64().expect("birds");
    let Ok(value) = printed.parse::<f64>() else {
        return printed == "under 0.01" && exact < 0.01;
    };
    // two figures
    (value / exact - 1.0).abs() <= 0.0501 || (value - exact).abs() <= 0.0051
}

fn last_looked(p: &Value) -> String {
    match p["counts_until"].is_null() {
        true => "no visit of this season is loaded that tells of it".to_owned(),
        false => format!("the last visit that tells of it was on {}", last_visit(p)),
    }
}

/// The last visit that tells of it, in words.
fn last_visit(p: &Value) -> String {
    let date: NaiveDate = p["counts_until"]
        .as_str()
        .expect("a date")
        .parse()
        .expect("ISO");
    date.format("%-d %B").to_string()
}

/// "1 bird in 62 visits, where 7.2 are usual; too few to tell whether it is early or late."
pub(super) fn untold(mut text: &str, p: &Value) {
    let shown = text.to_owned();
    if p["untold"] == "no-visit" {
        return assert_eq!(text, "no visit yet that would tell.");
    }
    if p["untold"] == "not-looked" {
        assert!(
            text.starts_with("nothing can be told: it may be about from "),
            "{shown} {p}"
        );
        return assert!(
            p["unknown_days"] == 0 || text.contains(&last_looked(p)),
            "{shown} {p}"
        );
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
    let until = before(&mut text, ", where ");
    if p["unknown_days"] != 0 {
        assert!(
            until.ends_with(&format!(" up to {}", last_visit(p))),
            "{shown} {p}"
        );
    }
    assert!(usual(before(&mut text, " are usual"), p), "{shown} {p}");
    let ending = match p["untold"].as_str() {
        Some("no-bird") => ".",
        Some("vague") => "; too few to tell whether it is early or late.",
        other => panic!("{other:?}"),
    };
    assert_eq!(text, ending, "{shown}");
}

/// "Nobody looked from 3 May to 12 May: this rests on what was counted outside those days."
pub(super) fn gaps(text: &str, p: &Value) {
    let (days, rest) = text.split_once(": ").expect("what it rests on");
    assert_eq!(rest, "this rests on what was counted outside those days.");
    let day = |date: &Value| {
        let date: NaiveDate = date.as_str().expect("a date").parse().expect("ISO");
        date.format("%-d %B").to_string()
    };
    let gaps = p["gaps"].as_array().expect("gaps");
    let all = gaps
        .iter()
        .map(|gap| format!("from {} to {}", day(&gap[0]), day(&gap[1])));
    let days = days.strip_prefix("Nobody looked ").expect("days");
    let said: Vec<&str> = days
        .split(", ")
        .flat_map(|part| part.split(" and "))
        .collect();
    assert_eq!(said, all.collect::<Vec<_>>(), "{text} {p}");
}

/// How often a usual season looks so far off.
pub(super) fn odd(text: &str, p: &Value) {
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
pub(super) fn first(mut text: &str, p: &Value) {
    let (shown, f) = (text.to_owned(), &p["first"]);
    if let Some(mut rest) = text.strip_prefix("Not found up to the last visit, on ") {
        let until: NaiveDate = f["until"].as_str().expect("a date").parse().expect("ISO");
        let day = before(&mut rest, "; by that day it had been found in ");
        assert_eq!(day, until.format("%-d %B").to_string(), "{shown} {p}");
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
pub(super) fn years(text: &str, p: &Value) -> bool {
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
