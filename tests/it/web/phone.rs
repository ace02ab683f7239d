//! Pages on a phone and a desk where names are long: no table is cut, and no entry touches another.

use super::scene::{Pages, SITES, fitted, served};
use crate::browser::{Driver, SIZES, axe, open_to_all};
use harness::places::skipped;
use harness::program::Workspace;
use harness::reserve;
use serde_json::json;
use std::sync::Arc;

/// In many words, and in one that is wider than a phone where it is written large.
const LONG: [(&str, &str); 2] = [
    (
        "Little Stint",
        "Lesser Long-winged Saltmarsh Stint of the Outer Skerries",
    ),
    ("Dunlin", "Langschnabelschlammläuferstrandvogel"),
];

const PAGES: [(&str, &str); 6] = [
    ("long-week", "west-hide?week=2024-W36"),
    ("long-year", "west-hide/year"),
    ("long-passing", "west-hide/species/calidris-minuta"),
    ("long-staying", "west-hide/species/calidris-alpina"),
    ("long-set", "west-hide/set/small-sandpipers"),
    ("long-plan", "west-hide/plan"),
];

/// Two hides whose files know stints and Dunlin by short names, and whose pages by long ones.
fn long_named() -> Workspace {
    let mut settings = reserve::settings(&SITES);
    for (short, long) in LONG {
        let named = format!("names = {{ en = \"{short}\" }}");
        assert!(settings.contains(&named), "{settings}");
        let anew = format!("names = {{ en = \"{long}\" }}\nalso = [\"{short}\"]");
        settings = settings.replace(&named, &anew);
    }
    let workspace = fitted(&settings, &reserve::counts(&SITES));
    let plan = ["plan", "--from", "2024-09-01", "--to", "2024-10-10"];
    let kept = ["--visits", "4", "--date", "2024-09-01", "--keep"];
    workspace.run(&[&plan[..], &kept].concat()).works();
    workspace
}

/// Does the table of windows fit on a phone without being moved sideways?
async fn shows_all_windows(driver: &Driver, base: &str) {
    let window = driver.window(SIZES[0], true).await;
    let page = window.goto(&format!("{base}/west-hide/year")).await;
    page.expect("a page");
    let hidden = "const box = document.querySelector('.scroll:has(.year)');
        return box.scrollWidth - box.clientWidth;";
    let hidden = window.execute(hidden, Vec::new()).await.expect("a width");
    assert_eq!(hidden, json!(0), "pixels to the right");
    window.close().await.expect("closed");
}

#[test]
fn no_name_is_too_long_for_a_phone() {
    let driver = match Driver::start() {
        Ok(driver) => driver,
        Err(why) => return skipped(&why),
    };
    let Some(axe) = axe() else {
        return skipped("no axe-core: WINGTIDE_PYTHON has no axe_core_python");
    };
    // its folder lives as long as its pages are asked for
    let workspace = long_named();
    let pages = Pages::of(&workspace);
    let week = pages.get("/west-hide?week=2024-W36");
    for (_, long) in LONG {
        assert!(week.text().contains(long), "{}", week.text());
    }
    let web = Arc::clone(&pages.web);
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    runtime.expect("a runtime").block_on(async {
        let base = served(web).await;
        open_to_all(&driver, &axe, &base, &PAGES).await;
        shows_all_windows(&driver, &base).await;
    });
}
