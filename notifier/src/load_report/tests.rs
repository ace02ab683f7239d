//! The page on a small load.

use super::LoadPage;
use chrono::{DateTime, Utc};
use config::settings::Workspace;
use ingest::Store;
use std::fmt::Write;

const SETTINGS: &str = r#"[workspace]
name = "Skerrow <Ness>"
[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54.63
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"
[[species]]
scientific = "Calidris alpina"
names = { en = "Dunlin" }
[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
columns = { date = "Date", species = "Bird", count = "Number" }
[[source]]
id = "visits"
kind = "visits"
file = "visits.csv"
date_order = "year-month-day"
columns = { date = "Date" }
"#;

fn now() -> DateTime<Utc> {
    "2026-03-01T12:00:00Z".parse().unwrap()
}

fn page(counts: &str, visits: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    file("counts.csv", counts);
    file("visits.csv", visits);
    file("wingtide.toml", SETTINGS);
    let workspace: Workspace = config::load(folder.path()).unwrap();
    let report = ingest::load(&workspace, folder.path(), now(), &mut |_| {}).unwrap();
    let store = Store::open_existing(folder.path()).unwrap();
    let suspects = store.suspects(&workspace, &report, now()).unwrap();
    let page = LoadPage {
        unexpected: None,
        workspace: &workspace,
        report: &report,
        suspects: Some(&suspects),
        visits: &store.visit_dates().unwrap(),
        batch: None,
    };
    crate::words::plain_spaces(&page.html().unwrap())
}

/// Three visits in one week of 2020, none in 2021, visits of 2022 without one record.
const VISITS: &str = "Date\n2020-01-01\n2020-01-02\n2020-01-03\n2020-05-05\n2022-02-01\n";

#[test]
fn every_fate_of_a_row_stands_on_the_page() {
    let counts = "Date,Bird,Number\n\
        2020-01-01,Dunlin,3\n\
        2020-01-02,dunlin,4\n\
        2020-01-03,Dunlin,<b>\n\
        2020-05-05,Dunlin/Knot,1\n\
        2026-03-02,Dunlin,1\n";
    let page = page(counts, VISITS);
    for told in [
        "counts.csv",
        "<title>What was loaded: Skerrow &lt;Ness&gt;</title>",
        "line 4, Number &quot;&lt;b&gt;&quot;: neither a number",
        "Kept back, as they belong to no one species: 1",
        "line 3: \u{201c}dunlin\u{201d} read as \u{201c}Calidris alpina\u{201d}, rows: 1",
        "In the future: 1",
        "counts.csv line 6: Long Bank, Dunlin, 2026-03-02",
        "Long Bank: January-June 2022 (1 visit date)",
        "<th scope=\"row\">Dunlin</th><td>3</td><td>8</td>",
    ] {
        assert!(page.contains(told), "{told}\n{page}");
    }
    assert!(!page.contains("http"), "the page needs no other file");
}

#[test]
fn the_calendar_has_a_row_a_year_and_a_bar_a_week() {
    let page = page(
        "Date,Bird,Number\n2020-01-01,Dunlin,3\n2020-05-05,Dunlin,1\n",
        VISITS,
    );
    for year in ["2020: 4 visit days", "2021: no visit", "2022: 1 visit day"] {
        assert!(page.contains(year), "{year}");
    }
    // a lone day in the 18th week of 2020 (5 May is day 126) and in the 5th of 2022
    let lone = "<path class=\"v1\" d=\"M118 27v-2.75h4v2.75zM53 55v-2.75h4v2.75z\"/>";
    assert!(page.contains(lone), "{page}");
    // three days in the first week
    assert!(
        page.contains("<path class=\"v3\" d=\"M33 27v-8.25h4v8.25z\"/>"),
        "{page}"
    );
    // the first half of 2022 is hatched, to 1 July, day 182
    let hatched = "<rect class=\"gap\" x=\"33.0\" y=\"44.0\" width=\"129.29\"";
    assert!(page.contains(hatched), "{page}");
}

#[test]
fn long_lists_are_cut_and_say_so() {
    let mut counts = "Date,Bird,Number\n2020-01-01,Dunlin,3\n".to_owned();
    for _ in 0..2005 {
        writeln!(counts, "2020-01-02,Dunlin,many").unwrap();
    }
    let page = page(&counts, VISITS);
    assert!(
        page.contains("Refused: 2,005") && page.contains("And 5 more;"),
        "{page}"
    );
}
