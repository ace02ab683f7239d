//! What stands on the two sides.

use super::{fitted, handout, read, said};
use config::look_alikes::{Trust, shipped};
use harness::places::skipped;
use notifier::handout::browser;
use notifier::words;
use serde_json::Value;

/// Highest value of a curve on watched days, and its day of a common year, from `wingtide curve`.
fn peak(curve: &Value) -> (f64, u32) {
    let values = curve["log_mean"].as_array().expect("numbers");
    let watched = curve["watched"].as_array().expect("flags");
    let days = values.iter().zip(watched).enumerate();
    let days = days.filter(|(_, (_, w))| **w == Value::Bool(true));
    let days = days.map(|(i, (v, _))| (v.as_f64().expect("a number").exp(), i as u32 + 1));
    days.max_by(|a, b| a.0.total_cmp(&b.0)).expect("a day")
}

#[test]
fn the_year_is_that_of_the_curves_and_windows() {
    let workspace = fitted(|s| s);
    let page = handout(&workspace, &[]);
    let windows = workspace
        .run(&["windows", "--site", "west-hide", "--json"])
        .json();
    let stints = windows.as_array().expect("rows").iter();
    let stints: Vec<&Value> = { stints }
        .filter(|r| r["species"] == "Calidris minuta" && r["verdict"] == "curve")
        .collect();
    assert_eq!(stints.len(), 1, "{windows}");
    let date = |cell: &Value| {
        let day = cell["day"].as_str().expect("MM-DD");
        let date = chrono::NaiveDate::parse_from_str(&format!("2023-{day}"), "%Y-%m-%d");
        date.expect("a date")
    };
    for species in ["Little Stint", "Dunlin"] {
        let command = [
            "curve",
            "--site",
            "west-hide",
            "--species",
            species,
            "--json",
        ];
        let (birds, day) = peak(&workspace.run(&command).json());
        let highest = chrono::NaiveDate::from_yo_opt(2023, day).expect("a date");
        // the top of a passage has the date that is told of the passage elsewhere
        let date = match species {
            "Little Stint" => date(&stints[0]["peak"]),
            _ => highest,
        };
        assert!((date - highest).num_days().abs() <= 2, "{date} {highest}");
        let told = format!(
            "{species}: highest {} about {}.",
            words::birds(birds),
            words::day_month(date)
        );
        let told = words::plain_spaces(&told);
        assert!(page.contains(&told), "{told}: {page}");
    }
    // Dunlin are about all the time, so that both are while stints pass
    let (from, to) = (date(&stints[0]["arrival"]), date(&stints[0]["departure"]));
    let span = format!(
        "<b>{} to {}:</b>",
        words::day_month(from),
        words::day_month(to)
    );
    let span = words::plain_spaces(&span);
    assert!(page.contains(&span), "{span}: {page}");
}

#[test]
fn marks_stand_in_the_order_of_trust_with_all_their_words() {
    let page = handout(&fitted(|s| s), &[]);
    let sets = shipped().expect("sets");
    let set = sets.iter().find(|s| s.id == "small-sandpipers");
    let set = set.expect("the sandpipers");
    let mut told: Vec<(usize, Trust)> = Vec::new();
    for mark in set.marks.iter().filter(|m| m.trust != Trust::Light) {
        let heading = format!(
            "<h3>{} <span class=\"kind\">({}",
            words::sentence(&mark.part),
            words::trust(mark.trust)
        );
        if let Some(at) = page.find(&heading) {
            told.push((at, mark.trust));
            for shows in &mark.shows {
                let text = shows.text.replace('\'', "&apos;").replace('"', "&quot;");
                assert!(page.contains(&text), "{}: {text}", mark.part);
            }
        }
    }
    assert!(told.len() >= 10, "{} marks", told.len());
    told.sort_by_key(|(at, _)| *at);
    let order: Vec<Trust> = told.into_iter().map(|(_, trust)| trust).collect();
    assert!(order.is_sorted(), "{order:?}");
    for entry in &set.cannot_tell {
        let text = entry.text.replace('\'', "&apos;");
        assert!(page.contains(&text), "{text}");
    }
    for needed in [
        "A forecast never identifies a bird",
        "No count is worth your safety",
        "MIT licence or the Apache licence 2.0",
        "those of their keeper, A. Warden",
        "never recorded here",
    ] {
        assert!(
            page.to_lowercase().contains(&needed.to_lowercase()),
            "{needed}: {page}"
        );
    }
    assert!(!page.contains("warden@"), "no address");
    assert!(!page.contains("<script") && !page.contains("http-equiv"));
}

#[test]
fn the_licence_is_the_keepers_where_there_is_one() {
    let own = |s: String| s + "\n[handout]\nlicence = \"Copy it & name us\"\n";
    let workspace = fitted(own);
    let page = handout(&workspace, &[]);
    assert!(
        page.contains("<b>Licence:</b> Copy it &amp; name us."),
        "{page}"
    );
    assert!(!page.contains("MIT licence"));
    let page = handout(&workspace, &["--licence", "None."]);
    assert!(page.contains("<b>Licence:</b> None."), "{page}");
}

#[test]
fn the_pdf_has_two_pages_with_and_without_a_browser() {
    let workspace = fitted(|s| s);
    let paths = std::env::var_os("PATH").unwrap_or_default();
    for more in [&["--pdf"][..], &["--pdf", "--without-browser"]] {
        if more == ["--pdf"] && browser::found(&paths).is_none() {
            skipped("no browser is on the search path, so that both are made without one");
        }
        let told = said(&workspace, more);
        assert_eq!(told.code, 0, "{}", told.err);
        assert!(!told.err.contains("without a browser"), "{}", told.err);
        let pdf = workspace.path("handouts/small-sandpipers-west-hide.pdf");
        let bytes = std::fs::read(&pdf).expect("a PDF");
        assert!(bytes.starts_with(b"%PDF-"), "{more:?}");
        let Some((pages, words)) = read(&pdf) else {
            return skipped("Poppler's pdfinfo and pdftotext are absent");
        };
        assert_eq!(pages, 2, "{more:?}");
        for needed in [
            "When to go and look",
            "Little Stint",
            "What cannot be told",
            "Licence:",
        ] {
            assert!(words.contains(needed), "{more:?}: {needed}: {words}");
        }
    }
}
