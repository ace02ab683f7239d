//! What holds for every page.

use super::scene::{Pages, SITES, reserve};
use axum::http::StatusCode;

#[test]
fn pages_stand_in_one_frame_and_load_nothing_but_their_style() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    for path in ["/", "/west-hide", "/east-hide?week=2024-W40"] {
        let page = pages.get(path);
        assert_eq!(page.code, StatusCode::OK, "{path}");
        let text = page.text();
        for needed in [
            "<html lang=\"en\">",
            "<title>",
            "<h1>",
            "<main id=\"content\"",
            "A forecast never identifies a bird",
            "href=\"/style.css\"",
        ] {
            assert!(text.contains(needed), "{path} lacks {needed}: {text}");
        }
        assert!(
            !text.contains("<script") && !text.contains(" style="),
            "{path}"
        );
        let policy = page.field("content-security-policy");
        assert!(policy.starts_with("default-src 'none'; style-src 'self';"));
        assert!(!policy.contains("unsafe"));
    }
    assert!(pages.get("/").text().contains(SITES[0].1));
    let style = pages.get("/style.css");
    assert_eq!(style.field("content-type"), "text/css; charset=utf-8");
    assert!(style.text().contains("prefers-color-scheme: dark"));
}

#[test]
fn what_is_not_there_is_a_page_that_repeats_nothing() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let first = pages.get("/north-hide");
    assert_eq!(first.code, StatusCode::NOT_FOUND);
    assert!(first.text().contains("<h1>Nothing is here</h1>"));
    for path in [
        "/west-hide/set/no-such",
        "/a/b/c/d",
        "/%3Cb%3E",
        "/north-hide?week=1700-W01",
        "/west-hide/year-200.png",
    ] {
        let page = pages.get(path);
        assert_eq!(
            (page.code, page.text()),
            (first.code, first.text()),
            "{path}"
        );
    }
    let far = pages.get("/west-hide?week=1700-W01");
    assert_eq!(far.code, StatusCode::NOT_FOUND);
    let years = "of the years from 1994 to 2054.";
    assert!(far.text().contains(years), "{}", far.text());
    let wrong = pages.get("/west-hide?week=%3Cscript%3E");
    assert_eq!(wrong.code, StatusCode::BAD_REQUEST);
    assert!(
        wrong
            .text()
            .contains("&quot;&lt;script&gt;&quot; is no week"),
        "{}",
        wrong.text()
    );
}

#[test]
fn a_changed_store_changes_the_pages_and_an_unchanged_one_is_not_read_again() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    assert!(!pages.web.refresh());
    let before = pages.get("/");
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    workspace.write(
        "wingtide.toml",
        settings.replace("Skerrow Ness", "Loch Arne Reserve"),
    );
    assert!(pages.web.refresh());
    let after = pages.get("/");
    assert!(after.text().contains("Loch Arne Reserve"));
    assert_ne!(before.field("etag"), after.field("etag"));
    workspace.write("wingtide.toml", "[workspace]\nname = 3\n");
    assert!(
        !pages.web.refresh(),
        "settings that make no sense change nothing"
    );
    assert_eq!(pages.get("/").body, after.body);
}

#[test]
fn a_page_comes_compressed_where_that_is_understood() {
    use std::io::Read;
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let plain = pages.get("/west-hide");
    let packed = pages.ask("/west-hide", &[("accept-encoding", "br, gzip;q=0.5")]);
    assert_eq!(packed.field("content-encoding"), "gzip");
    assert!(packed.body.len() * 2 < plain.body.len());
    let mut text = String::new();
    let mut decoder = flate2::read::GzDecoder::new(packed.body.as_slice());
    decoder.read_to_string(&mut text).expect("gzip");
    assert_eq!(text, plain.text());
    assert_ne!(packed.field("etag"), plain.field("etag"));
    let refused = pages.ask("/west-hide", &[("accept-encoding", "gzip;q=0")]);
    assert_eq!(refused.body, plain.body);
}
