//! The pictures are what they say.

use super::*;
use crate::chart::ChartError;
use chrono::{Duration, NaiveDate};

fn row(name: &str, late: f64, times: f64, is_odd: bool) -> SeasonRow {
    SeasonRow {
        name: name.into(),
        days_late: [late, late - 2.0, late + 3.0],
        times: [times, 0.8 * times, 1.2 * times],
        odd: if is_odd { 0.01 } else { 0.5 },
        is_odd,
    }
}

fn chart() -> SeasonChart {
    let rows = vec![
        row("Dunlin", 6.0, 2.0, true),
        row("Little Stint & others", -7.0, 0.4, true),
        row("Sanderling", 0.2, 1.1, false),
    ];
    SeasonChart::new("Skerrow Ness, autumn 2026", rows, vec!["Ruff".into()]).unwrap()
}

#[test]
fn the_overview_goes_from_early_to_late() {
    let text = chart().alt_text();
    let place = |name: &str| {
        text.find(name)
            .unwrap_or_else(|| panic!("{name} in {text}"))
    };
    assert!(
        ["Little Stint", "Sanderling", "Dunlin"]
            .map(place)
            .is_sorted()
    );
    assert!(text.contains("Dunlin 6 days late, 2.0 times the usual numbers, out of the ordinary"));
    assert!(
        text.contains("Sanderling about on time, 1.1 times the usual numbers.")
            || text.contains("Sanderling about on time, 1.1 times the usual numbers;")
    );
    let svg = chart().svg().unwrap();
    assert!(svg.contains("Little Stint &amp; others") && svg.contains("Ruff"));
}

#[test]
fn a_chart_of_nothing_is_refused() {
    assert_eq!(
        SeasonChart::new("", Vec::new(), Vec::new()),
        Err(ChartError::NoSpecies)
    );
    let wrong = row("Ruff", f64::NAN, 1.0, false);
    assert!(SeasonChart::new("", vec![wrong], Vec::new()).is_err());
}

#[test]
fn forty_rows_at_the_most_and_the_odd_ones_among_them() {
    let mut rows: Vec<SeasonRow> = (0..50)
        .map(|i| row(&format!("Bird {i}"), f64::from(i) / 10.0, 1.0, false))
        .collect();
    rows[45].odd = 0.001;
    let svg = SeasonChart::new("Many", rows, Vec::new())
        .unwrap()
        .svg()
        .unwrap();
    assert!(svg.contains("Bird 45") && svg.contains("10 passages nearer"));
}

fn course(today: Option<NaiveDate>) -> CourseChart {
    let first = NaiveDate::from_ymd_opt(2026, 8, 1).unwrap();
    let hump = |late: f64| {
        let z = move |d: i32| (f64::from(d) - 45.0 - late) / 9.0;
        (0..120)
            .map(|d| 12.0 * (-0.5 * z(d).powi(2)).exp())
            .collect()
    };
    CourseChart {
        title: "Dunlin, autumn 2026".into(),
        subtitle: "6 days late".into(),
        first,
        usual: hump(0.0),
        this: Some(hump(6.0)),
        visits: (0..30)
            .map(|i| (first + Duration::days(3 * i), f64::from(i as i32 % 4)))
            .collect(),
        today,
        unseen: Vec::new(),
    }
}

#[test]
fn the_course_has_both_curves_and_every_visit() {
    let svg = course(None).svg().unwrap();
    for words in [
        "Dunlin, autumn 2026",
        "6 days late",
        "September",
        "long term",
        "this season",
    ] {
        assert!(svg.contains(words), "{words}");
    }
    // a rim and a disc a visit, a hole besides where none was found, and four in the legend
    let rings = svg.matches("<circle").count();
    let (visits, without) = (30, 8);
    assert!(rings <= 2 * visits + without + 3, "{rings}");
    assert!(rings >= 2 * 25, "{rings}");
    let dated = course(NaiveDate::from_ymd_opt(2026, 9, 20)).svg().unwrap();
    assert!(dated.len() > svg.len(), "the day is marked");
}

#[test]
fn a_course_without_birds_is_refused() {
    let empty = CourseChart {
        usual: vec![0.0; 120],
        this: None,
        visits: Vec::new(),
        ..course(None)
    };
    assert_eq!(empty.svg(), Err(ChartError::NoSpecies));
}

#[test]
fn days_on_which_nobody_looked_are_hatched_and_told() {
    let day = |d| NaiveDate::from_ymd_opt(2026, 9, d);
    let at = |d| day(d).unwrap();
    let whole = course(day(30));
    let stale = CourseChart {
        this: whole.this.clone().map(|mut rates| {
            rates.truncate(40);
            rates
        }),
        unseen: vec![(at(3), at(6)), (at(10), at(30))],
        ..whole.clone()
    };
    let told = stale.alt_text();
    assert!(
        told.contains(
            "; nobody looked from 3 September to 6 September and from 10 September to 30 September."
        ),
        "{told}"
    );
    let (whole, stale) = (whole.svg().unwrap(), stale.svg().unwrap());
    assert!(stale.contains("nobody looked") && !whole.contains("nobody looked"));
}
