//! Practice: the same bird for the same seed, drawn by the shares; nothing told too early, all of it at the
//! end; scored as Brier scores; without scripts, and without what is sensitive.

mod browser;
mod drawn;
mod paper;
mod steps;

use crate::web::scene::{Pages, fitted};
use harness::program::Workspace;
use harness::reserve;

const SITES: [(&str, &str); 2] = [("west-hide", "West Hide"), ("east-hide", "East Hide")];

/// The reserve of two hides, with this in its settings.
fn workspace(change: impl Fn(String) -> String) -> Workspace {
    fitted(&change(reserve::settings(&SITES)), &reserve::counts(&SITES))
}

/// A page of the practice, blanks as on a screen.
fn page(pages: &Pages, query: &str) -> String {
    let answer = pages.get(&format!("/practice?{query}"));
    assert_eq!(answer.code, axum::http::StatusCode::OK, "{query}");
    answer.text().replace('\u{a0}', " ")
}
