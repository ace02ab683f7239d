//! The season so far at a site, for everybody.

use super::scene::{Pages, SITES, fitted, reserve};
use axum::http::StatusCode;
use harness::program::Workspace;
use harness::reserve as rows;
use std::collections::BTreeSet;
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
fn the_last_season_with_counts_stands_in_for_one_without() {
    let pages = Pages::of(&reserve());
    let page = pages.get("/east-hide/season");
    assert_eq!(page.code, StatusCode::OK);
    let text = page.text().replace('\u{a0}', " ");
    for needed in [
        "<h1>Autumn 2023 at East Hide</h1>",
        "<span aria-current=\"page\">This season</span>",
        "Counts go to 17 October 2023; nobody looked in the ",
        "so this is the last season with counts.",
        "<p>Nobody looked since 17 October 2023 for ",
        "id=\"course-0-title\"",
        "<a href=\"/east-hide/season/2022-autumn\">Autumn 2022</a>",
        "<a href=\"/east-hide/season/2015-autumn\">Autumn 2015</a>",
    ] {
        assert!(text.contains(needed), "{needed} is not in {text}");
    }
    assert!(
        !text.contains("season/2023-autumn"),
        "it is this page: {text}"
    );
    assert!(!text.contains(">nobody looked<"), "{text}");
    assert_eq!(pages.get("/north-hide/season").code, StatusCode::NOT_FOUND);
}

#[test]
fn past_seasons_have_a_page_each_and_others_none() {
    let pages = Pages::of(&reserve());
    let page = pages.get("/east-hide/season/2022-autumn");
    assert_eq!(page.code, StatusCode::OK);
    let text = page.text();
    for needed in [
        "<h1>Autumn\u{a0}2022 at East Hide</h1>",
        "Looking back: all visits of the season",
        "<a href=\"/east-hide/season\">This season</a>",
        "<a href=\"/east-hide/season/2023-autumn\">Autumn\u{a0}2023</a>",
    ] {
        assert!(text.contains(needed), "{needed} is not in {text}");
    }
    for wrong in [
        "1990-autumn",
        "2022-spring",
        "2022-autum",
        "autumn",
        "2022-Autumn",
    ] {
        let page = pages.get(&format!("/east-hide/season/{wrong}"));
        assert_eq!(page.code, StatusCode::NOT_FOUND, "{wrong}");
    }
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

/// The reserve with Sanderlings beside the stints, by week as many as `birds` tells; kept back.
fn with_sanderlings(birds: impl Fn(usize) -> u32) -> Workspace {
    let settings = rows::settings(&SITES)
        + "[[species]]\nscientific = \"Calidris alba\"\nnames = { en = \"Sanderling\" }\n\
           sensitive = \"withhold\"\n";
    let mut counts = this_year();
    let dates: BTreeSet<String> = counts
        .lines()
        .skip(1)
        .filter_map(|line| Some(line.split(',').next()?.to_owned()))
        .collect();
    for (week, date) in dates.iter().enumerate() {
        for (site, _) in SITES {
            writeln!(counts, "{date},{site},Sanderling,{}", birds(week)).expect("a String grows");
        }
    }
    fitted(&settings, &counts)
}

#[test]
fn no_number_of_others_hangs_on_a_species_kept_back() {
    let page = |birds: &dyn Fn(usize) -> u32| {
        let workspace = with_sanderlings(birds);
        let page = Pages::of(&workspace).get("/west-hide/season");
        assert_eq!(page.code, StatusCode::OK);
        page.text().to_owned()
    };
    // ten weeks a year at most: about the same in each, or next to none in every second
    let steady = page(&|week| 5 + 30 * u32::from((3..7).contains(&(week % 12))));
    let swinging = page(&|week| 1 + 60 * u32::from((3..7).contains(&(week % 12)) && week % 2 == 0));
    assert!(steady.contains("Little Stint"), "{steady}");
    assert_eq!(steady, swinging);
}

/// A page in a file may go anywhere.
#[test]
fn a_page_in_a_file_leaves_out_what_is_kept_back() {
    let workspace = with_sanderlings(|week| 5 + 30 * u32::from((3..7).contains(&(week % 12))));
    let page = |more: &[&str]| {
        let path = workspace.path("season.html");
        let asked = [
            "season",
            "--site",
            "west-hide",
            "--date",
            "2024-09-03",
            "--page",
        ];
        let file = path.to_str().expect("a plain path");
        workspace.run(&[&asked[..], &[file], more].concat()).works();
        std::fs::read_to_string(&path).expect("the page")
    };
    let open = page(&[]);
    assert!(
        open.contains("Little Stint") && !open.contains("Sanderling"),
        "{open}"
    );
    assert!(page(&["--with-sensitive"]).contains("Sanderling"));
}
