//! The pages one by one, with what they must say.

use super::scene::{Pages, reserve};
use axum::http::StatusCode;

/// Every page of a site of the reserve.
pub const PAGES: [&str; 12] = [
    "/",
    "/west-hide",
    "/west-hide/season",
    "/west-hide/year",
    "/west-hide?week=2024-W36",
    "/west-hide?week=2024-W40",
    "/west-hide?week=2024-W03",
    "/west-hide/set/small-sandpipers",
    "/west-hide/set/small-sandpipers/handout",
    "/west-hide/species/calidris-minuta",
    "/west-hide/species/calidris-alpina",
    "/east-hide",
];

#[test]
fn no_page_lacks_what_those_need_who_do_not_see_it() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    for path in PAGES {
        let page = pages.get(path);
        assert_eq!(page.code, StatusCode::OK, "{path}");
        let text = page.text();
        let once = |what: &str| assert_eq!(text.matches(what).count(), 1, "{what} in {path}");
        for what in [
            "<html lang=\"en\">",
            "<title>",
            "<h1>",
            "<main ",
            "class=\"skip\"",
        ] {
            if what != "<title>" {
                once(what);
            }
        }
        let head = text.split("</head>").next().expect("a head");
        assert_eq!(head.matches("<title>").count(), 1, "{path}");
        every_picture_is_told(path, text);
        for table in text.split("<table").skip(1) {
            assert!(
                table.contains("<caption>"),
                "a table without caption in {path}"
            );
        }
        ids_are_told_apart(path, text);
    }
}

fn every_picture_is_told(path: &str, text: &str) {
    assert!(!text.contains("<img"), "{path}: pictures are inline");
    for svg in text.split("<svg ").skip(1) {
        let (tag, content) = svg.split_once('>').expect("a tag");
        assert!(tag.contains("role=\"img\""), "{path}: {tag}");
        let (_, rest) = tag.split_once("aria-labelledby=\"").expect("a label");
        let ids = rest.split('"').next().expect("ids");
        for id in ids.split(' ') {
            let (_, told) = content
                .split_once(&format!("id=\"{id}\">"))
                .unwrap_or_else(|| panic!("{path}: no {id}"));
            assert!(!told.starts_with('<'), "{path}: {id} says nothing");
        }
    }
}

fn ids_are_told_apart(path: &str, text: &str) {
    let ids = text.split(" id=\"").skip(1);
    let mut ids: Vec<&str> = ids.filter_map(|rest| rest.split('"').next()).collect();
    ids.sort_unstable();
    let twice = ids.windows(2).find(|pair| pair[0] == pair[1]);
    assert_eq!(twice, None, "{path}");
}

/// The links of every page lead to a page, so that nobody lands nowhere.
#[test]
fn every_link_leads_somewhere() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let mut seen = vec!["/".to_owned()];
    let mut next = 0;
    while next < seen.len() && next < 60 {
        let path = seen[next].clone();
        let page = pages.get(&path);
        assert_eq!(page.code, StatusCode::OK, "{path}");
        if page.field("content-type").starts_with("text/html") {
            for link in page.text().split("href=\"").skip(1) {
                let to = link.split('"').next().expect("an address").to_owned();
                if !to.starts_with('#') && !seen.contains(&to) {
                    seen.push(to);
                }
            }
        }
        next += 1;
    }
    for needed in [
        "/west-hide/set/small-sandpipers",
        "/west-hide/species/calidris-minuta",
        "/west-hide/atom.xml",
        "/west-hide/windows.ics",
        "/api/v1/openapi.json",
    ] {
        assert!(
            seen.iter().any(|s| s == needed),
            "{needed} is not linked: {seen:?}"
        );
    }
}

#[test]
fn the_week_says_what_the_command_says() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let page = pages.get("/west-hide").text().replace('\u{a0}', " ");
    let said = workspace.run(&["week", "--site", "west-hide", "--date", "2024-09-04"]);
    let said = said.works();
    let together = said.split("likeliest").next().expect("some");
    let chance = together
        .rsplit(": ")
        .next()
        .expect("a chance")
        .trim_end_matches([',', ' ']);
    assert!(
        page.contains(&format!("both found this week: {chance}")),
        "{chance}: {page}"
    );
    for words in [
        "Little Stint",
        "Dunlin",
        "Marks to trust on this date",
        "Week 36, 2 to 8 September 2024",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
}

#[test]
fn a_species_page_tells_its_curve_this_season_and_its_windows() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let text = pages
        .get("/west-hide/species/calidris-minuta")
        .text()
        .replace('\u{a0}', " ");
    for words in [
        "<i>Calidris minuta</i>",
        "class=\"curve\"",
        "class=\"past\"",
        "80 % interval",
        "<caption>Autumn",
        "departure",
        "small-sandpipers",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    let set = pages
        .get("/west-hide/set/small-sandpipers")
        .text()
        .to_owned();
    for words in [
        "Plumages by month",
        "Shares by week",
        "class=\"bar\"",
        "id=\"curves-title\"",
        "Trap:",
    ] {
        assert!(set.contains(words), "{words}: {set}");
    }
}
