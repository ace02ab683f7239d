//! Where questions begin, and letters that go to those alone who agreed.

use super::asks::asks;
use super::*;
use chrono::NaiveDate;
use config::second_look::Finder;
use forecast::second_look::InDoubt;
use forecast::series::Count;
use ingest::store::{FoundBy, RecordKey};
use std::collections::BTreeSet;
use unicode_width::UnicodeWidthStr;

fn date(y: i32, m: u32, d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(y, m, d).expect("a date")
}

fn past(mondays: &[NaiveDate], highest: &[f64]) -> Past {
    Past {
        years: Some((2020, 2023)),
        weeks: mondays.iter().copied().collect::<BTreeSet<_>>(),
        records: 100,
        highest: highest.to_vec(),
    }
}

#[test]
fn weeks_are_counted_once_and_scores_of_all_sites_put_together() {
    let mondays = [
        date(2020, 5, 4),
        date(2020, 5, 11),
        date(2020, 5, 18),
        date(2020, 5, 25),
    ];
    let sites = [
        past(&mondays, &[9.0, 4.0]),
        past(&mondays[1..], &[7.0, 3.0, 2.0]),
    ];
    let limit = Limit::of(&sites, 0.5).expect("a limit");
    // four weeks, two questions: 9 and 7
    assert_eq!(
        (limit.weeks, limit.would_have_asked, limit.score),
        (4, 2, 4.0)
    );
    assert_eq!(limit.records, 200);
    assert_eq!(Limit::of(&sites, 0.0).map(|l| l.would_have_asked), Some(0));
    let none = Past {
        years: None,
        ..past(&[], &[])
    };
    assert_eq!(Limit::of(&[none], 0.5), None);
}

#[test]
fn too_few_years_are_told_in_one_sentence() {
    let of = |limit: Option<Limit>, looked_at, too_early_to_say| {
        let found = SecondLooks {
            limit,
            looked_at,
            too_early_to_say,
            records: Vec::new(),
        };
        screen(&found, 80)
    };
    let none = of(None, 12, 12);
    assert_eq!(none.matches('.').count(), 1, "{none}");
    assert!(
        none.starts_with("Nothing can be asked yet: no site has "),
        "{none}"
    );
    let limit = || Limit::of(&[past(&[date(2020, 5, 4)], &[9.0, 4.0])], 0.5);
    let all = of(limit(), 12, 12);
    assert!(
        all.starts_with("Of 12 records nothing can be said: "),
        "{all}"
    );
    assert!(!all.contains("none is worth"), "{all}");
    assert_eq!(all.matches("nothing can be said").count(), 1, "{all}");
    let some = of(limit(), 12, 5);
    assert!(
        some.starts_with("Of 12 records none is worth a second look."),
        "{some}"
    );
    assert!(some.contains("Of 5 records nothing can be said"), "{some}");
}

fn question() -> Question {
    let key = RecordKey::new(
        "long-bank",
        date(2026, 9, 9),
        "Calidris minuta",
        Count::AtLeast(60),
    );
    Question {
        record: key.fingerprint(),
        key,
        site_name: "Long Bank".into(),
        name: "Little Stint".into(),
        reason: "too-many",
        because: "At least 60 of them, where at most 4 were counted.".into(),
        doubts: vec!["name", "number"],
        asks: asks(
            InDoubt {
                date: false,
                name: true,
                number: true,
            },
            &["Bill".to_owned(), "Call".to_owned()],
        ),
        score: 9.0,
        expected: 0.5,
        chance: 1e-6,
        look_alikes: Vec::new(),
        marks: vec!["Bill".into(), "Call".into()],
        describe: None,
        answer: None,
    }
}

fn workspace(finders: Vec<Finder>) -> config::settings::Workspace {
    let text = "[workspace]\nname = \"Skerrow Ness\"\n[[site]]\nid = \"long-bank\"\n\
        name = \"Long Bank\"\nlatitude = 54.6\nlongitude = -0.4\n\
        time_zone = \"Europe/London\"\nregion = \"western-palearctic\"\n";
    let parsed = config::parse(text, std::path::Path::new("."), |_: &std::path::Path| {
        Err(std::io::ErrorKind::NotFound.into())
    });
    config::settings::Workspace {
        finders,
        ..parsed.expect("settings")
    }
}

fn row(observers: &[&str]) -> FoundBy {
    FoundBy {
        source: "counts".into(),
        line: 7,
        observers: observers.iter().map(|o| (*o).to_owned()).collect(),
    }
}

#[test]
fn a_letter_goes_to_those_alone_who_agreed() {
    let finder = |name: &str, may_be_written_to| Finder {
        name: name.to_owned(),
        mail: "finder@skerrow.example".to_owned(),
        may_be_written_to,
    };
    let workspace = workspace(vec![finder("Ann Warden", true), finder("B. Keeper", false)]);
    let to = |rows: &[FoundBy]| {
        let text = letter(&workspace, &question(), rows);
        text.lines().next().expect("a line").to_owned()
    };
    assert_eq!(
        to(&[row(&["ann  warden"]), row(&["B. Keeper"])]),
        "To: \"Ann Warden\" <finder@skerrow.example>"
    );
    assert_eq!(
        to(&[row(&["B. Keeper"])]),
        "To: nobody (B. Keeper has not agreed to be written to)"
    );
    assert_eq!(
        to(&[row(&["C. Nobody"])]),
        "To: nobody (C. Nobody has no [[finder]] in wingtide.toml)"
    );
    assert_eq!(
        to(&[row(&[])]),
        "To: nobody (no observer's name is kept of it)"
    );
}

#[test]
fn a_letter_asks_and_is_narrow() {
    let text = letter(&workspace(Vec::new()), &question(), &[]);
    assert!(
        text.contains("Little Stint, at least 60, Long Bank, 9 September 2026"),
        "{text}"
    );
    assert!(text.contains("as you saw them: bill and call"), "{text}");
    assert!(text.contains("The number: is it as you noted it"), "{text}");
    assert!(text.contains("How it was counted: by whom"), "{text}");
    assert!(text.lines().skip(1).all(|l| l.width() <= 72), "{text}");
}

#[test]
fn the_list_fits_its_columns() {
    let found = SecondLooks {
        limit: Limit::of(&[past(&[date(2020, 5, 4)], &[1.0, 0.5])], 1.0),
        looked_at: 1200,
        too_early_to_say: 3,
        records: vec![question()],
    };
    for width in [64, 80] {
        let text = screen(&found, width);
        assert!(text.lines().all(|l| l.width() <= width), "{text}");
    }
    let text = screen(&found, 80);
    assert!(
        text.contains("Of 1,200 records one is worth a second look"),
        "{text}"
    );
    assert!(text.contains("1 question a week"), "{text}");
}
