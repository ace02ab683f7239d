//! Handout and practice in a browser: through all steps with scripts off, and nothing that axe-core
//! finds serious, on a phone and a desk.

use super::workspace;
use crate::browser::{Driver, PATIENCE, SIZES, axe, open_to_all};
use crate::web::scene::{Pages, served};
use fantoccini::{Client, Locator};
use harness::places::skipped;
use std::sync::Arc;

const PAGES: [(&str, &str); 4] = [
    ("handout", "west-hide/set/small-sandpipers/handout"),
    ("practice", "practice"),
    ("practice-bird", "practice?seed=1&marks=2"),
    (
        "practice-answer",
        "practice?seed=1&marks=2&chance=70&chance=30&why=thin&answer=yes",
    ),
];

async fn press(window: &Client, words: &str) {
    let path = format!("//button[normalize-space()='{words}']");
    let button = window.wait().at_most(PATIENCE);
    let button = button.for_element(Locator::XPath(&path)).await;
    button.expect(words).click().await.expect(words);
}

async fn reads(window: &Client, words: &str) {
    let path = format!("//*[contains(text(), \"{words}\")]");
    let found = window.wait().at_most(PATIENCE);
    let found = found.for_element(Locator::XPath(&path)).await;
    if found.is_err() {
        panic!("{words}: {}", window.source().await.expect("a page"));
    }
}

/// From the beginning to the score.
async fn goes_through(window: &Client, base: &str) {
    window
        .goto(&format!("{base}/practice"))
        .await
        .expect("a page");
    press(window, "Draw a bird").await;
    press(window, "Tell me one more mark").await;
    let told = Locator::Css("input[name='marks'][value='2']");
    let told = window.wait().at_most(PATIENCE).for_element(told).await;
    told.expect("a second mark");
    let chance = window.find(Locator::Id("chance-1")).await.expect("a field");
    chance.send_keys("80").await.expect("written");
    let why = window.find(Locator::Id("why")).await.expect("a field");
    why.send_keys("a thin bill").await.expect("written");
    press(window, "This is my answer").await;
    reads(window, "It was drawn as").await;
    reads(window, "a thin bill").await;
}

#[test]
fn a_learner_goes_through_without_scripts_and_no_page_shuts_anybody_out() {
    let driver = match Driver::start() {
        Ok(driver) => driver,
        Err(why) => return skipped(&why),
    };
    let Some(axe) = axe() else {
        return skipped("no axe-core: WINGTIDE_PYTHON has no axe_core_python");
    };
    let workspace = workspace(|s| s);
    let pages = Pages::of(&workspace);
    let web = Arc::clone(&pages.web);
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    runtime.expect("a runtime").block_on(async {
        let base = served(web).await;
        let window = driver.window(SIZES[1], false).await;
        goes_through(&window, &base).await;
        window.close().await.expect("closed");
        open_to_all(&driver, &axe, &base, &PAGES).await;
    });
}
