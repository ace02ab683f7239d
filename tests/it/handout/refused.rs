//! What is sensitive never goes out on paper, and what there is not is said.

use super::{fitted, handout};
use crate::web::scene::Pages;
use axum::http::StatusCode;

const STINT: &str = "scientific = \"Calidris minuta\"";

#[test]
fn what_there_is_not_is_told_with_the_nearest_name() {
    let workspace = fitted(|s| s);
    for (set, site, said) in [
        (
            "small-sandpiper",
            "west-hide",
            "did you mean \"small-sandpipers\"?",
        ),
        (
            "small-sandpipers",
            "wst-hide",
            "did you mean \"west-hide\"?",
        ),
    ] {
        let told = workspace.run(&["handout", set, "--site", site]).fails();
        assert!(told.contains(said), "{told}");
    }
    assert!(
        !workspace.path("handouts").exists(),
        "nothing is half-written"
    );
}

#[test]
fn a_withheld_site_and_a_set_without_members_to_show_are_refused() {
    let site = |s: String| {
        s.replace(
            "id = \"west-hide\"",
            "id = \"west-hide\"\nsensitive = \"withhold\"",
        )
    };
    let command = ["handout", "small-sandpipers", "--site", "west-hide"];
    let told = fitted(site).run(&command).fails();
    assert!(told.contains("is withheld"), "{told}");
    let both = |s: String| {
        let kept = |text: &str| format!("{text}\nsensitive = \"withhold\"");
        s.replace(STINT, &kept(STINT))
    };
    let told = fitted(both).run(&command).fails();
    assert!(told.contains("fewer than two members"), "{told}");
}

/// A third species beside the two, withheld: its name is nowhere, neither on paper nor served.
#[test]
fn a_withheld_species_is_nowhere() {
    let workspace = fitted(|s| {
        s + "\n[[species]]\nscientific = \"Calidris alba\"\nnames = { en = \"Sanderling\" }\nsensitive = \"withhold\"\n"
    });
    let pages = Pages::of(&workspace);
    let served = pages.get("/west-hide/set/small-sandpipers/handout");
    assert_eq!(served.code, StatusCode::OK);
    for page in [handout(&workspace, &[]), served.text().to_owned()] {
        let page = page.to_lowercase();
        assert!(page.contains("dunlin"));
        for secret in ["sanderling", "calidris alba"] {
            assert!(!page.contains(secret), "{secret}: {page}");
        }
    }
}

#[test]
fn it_is_served_under_the_rules_of_all_pages() {
    let workspace = fitted(|s| s);
    let pages = Pages::of(&workspace);
    let path = "/west-hide/set/small-sandpipers/handout";
    let page = pages.get(path);
    assert_eq!(page.code, StatusCode::OK);
    assert!(
        page.field("content-security-policy")
            .starts_with("default-src 'none'; style-src 'self'")
    );
    assert!(!page.text().contains(" style=") && !page.text().contains("<style"));
    let again = pages.ask(path, &[("if-none-match", page.field("etag"))]);
    assert_eq!(again.code, StatusCode::NOT_MODIFIED);
    assert_eq!(
        pages.get("/handout.css").field("content-type"),
        "text/css; charset=utf-8"
    );
    let set = pages.get("/west-hide/set/small-sandpipers");
    assert!(set.text().contains(&format!("href=\"{path}\"")));
    for nowhere in [
        "/north-hide/set/small-sandpipers/handout",
        "/west-hide/set/peeps/handout",
    ] {
        assert_eq!(pages.get(nowhere).code, StatusCode::NOT_FOUND, "{nowhere}");
    }
}
