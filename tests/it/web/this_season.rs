//! The season so far at a site, for everybody.

use super::scene::{Pages, SITES, fitted, reserve};
use axum::http::StatusCode;
use harness::reserve as rows;
use std::fmt::Write;

/// Stints four times as many as usual, and ten days before their time, in 2024.
fn this_year() -> String {
    let mut counts = rows::counts(&SITES);
    for (day, stints) in [
        ("08-05", 2),
        ("08-12", 9),
        ("08-19", 19),
        ("08-26", 24),
        ("09-02", 22),
    ] {
        for (site, _) in SITES {
            writeln!(counts, "2024-{day},{site},Dunlin,50").expect("a String grows");
            writeln!(counts, "2024-{day},{site},Little Stint,{stints}").expect("a String grows");
        }
    }
    counts
}

#[test]
fn an_early_and_strong_season_is_told_with_both_charts() {
    let workspace = fitted(&rows::settings(&SITES), &this_year());
    let page = Pages::of(&workspace).get("/west-hide/season");
    assert_eq!(page.code, StatusCode::OK);
    let text = page.text();
    for needed in [
        "<h1>This season at West Hide</h1>",
        "As known on 4\u{a0}September\u{a0}2024",
        "<th scope=\"row\">Little Stint",
        " early (80\u{a0}% interval ",
        "Out of the ordinary",
        "id=\"season-title\"",
        "id=\"course-0-title\"",
        "<span aria-current=\"page\">This season</span>",
    ] {
        assert!(text.contains(needed), "{needed} is not in {text}");
    }
    assert!(
        !text.contains("<script") && !text.contains(" style="),
        "{text}"
    );
}

#[test]
fn a_season_without_visits_is_said_to_have_none() {
    let pages = Pages::of(&reserve());
    let page = pages.get("/east-hide/season");
    assert_eq!(page.code, StatusCode::OK);
    let text = page.text().replace('\u{a0}', " ");
    for needed in [
        "Counts go to 17 October 2023; nobody looked in the ",
        "nothing can be told: it may be about from ",
        "and no visit of this season is loaded.",
    ] {
        assert!(text.contains(needed), "{needed} is not in {text}");
    }
    assert!(!text.contains("Not found"), "{text}");
    assert_eq!(pages.get("/north-hide/season").code, StatusCode::NOT_FOUND);
}

#[test]
fn a_species_kept_back_has_no_season() {
    let settings = rows::settings(&SITES).replace(
        "scientific = \"Calidris minuta\"",
        "scientific = \"Calidris minuta\"\nsensitive = \"withhold\"",
    );
    let workspace = fitted(&settings, &this_year());
    let page = Pages::of(&workspace).get("/west-hide/season");
    assert_eq!(page.code, StatusCode::OK);
    assert!(
        !page.text().contains("Stint") && !page.text().contains("minuta"),
        "{}",
        page.text()
    );
}
