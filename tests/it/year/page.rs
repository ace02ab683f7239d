//! The page of the service, and its files.

use super::{STINT, windows, workspace};
use crate::browser::{Driver, axe, open_to_all};
use crate::web::scene::{Pages, served};
use axum::http::StatusCode;
use harness::places::skipped;
use std::process::Command;
use std::sync::Arc;

const PATH: &str = "/west-hide/year";

#[test]
fn the_table_has_the_dates_of_the_windows() {
    let workspace = workspace(|s| s);
    let pages = Pages::of(&workspace);
    let page = pages.get(PATH);
    assert_eq!(page.code, StatusCode::OK);
    let text = page.text().replace('\u{a0}', " ");
    let windows = windows(&workspace);
    assert_eq!(windows.len(), 1, "stints pass, Dunlin stay: {windows:?}");
    for [arrival, peak, departure] in windows {
        let row = format!(
            "<td class=\"words\">autumn</td><td>{arrival}</td><td>{peak}</td><td>{departure}</td>"
        );
        let signs = text
            .replace("<td>&lt;", "<td>")
            .replace("&gt;</td>", "</td>");
        assert!(signs.contains(&row), "{row}: {text}");
    }
    for needed in [
        "<h1>The year at West Hide</h1>",
        "id=\"year-0-title\"",
        "Dunlin</a>: ",
        "Too few records for a curve, with birds counted: Ruff (2).",
        "Each species has a scale of its own",
        "<span aria-current=\"page\">The year</span>",
    ] {
        assert!(text.contains(needed), "{needed}: {text}");
    }
    assert!(!text.contains("<script") && !text.contains(" style="));
    assert!(
        pages
            .get("/west-hide")
            .text()
            .contains(&format!("href=\"{PATH}\""))
    );
}

#[test]
fn page_and_files_are_made_once_and_have_tags() {
    let workspace = workspace(|s| s);
    let pages = Pages::of(&workspace);
    for (path, kind, begins) in [
        (PATH, "text/html; charset=utf-8", &b"<!DOCTYPE"[..]),
        ("/west-hide/year.pdf", "application/pdf", b"%PDF-"),
        ("/west-hide/year-1.png", "image/png", b"\x89PNG"),
    ] {
        let answer = pages.get(path);
        assert_eq!(
            (answer.code, answer.field("content-type")),
            (StatusCode::OK, kind)
        );
        assert!(answer.body.starts_with(begins), "{path}");
        let again = pages.ask(path, &[("if-none-match", answer.field("etag"))]);
        assert_eq!(again.code, StatusCode::NOT_MODIFIED, "{path}");
        if path != PATH {
            assert!(pages.get(PATH).text().contains(&format!("href=\"{path}\"")));
        }
    }
    for nowhere in [
        "/north-hide/year",
        "/north-hide/year.pdf",
        "/west-hide/year-0.png",
        "/west-hide/year-2.png",
        "/west-hide/year.png",
    ] {
        assert_eq!(pages.get(nowhere).code, StatusCode::NOT_FOUND, "{nowhere}");
    }
}

#[test]
fn a_sensitive_species_is_neither_on_the_page_nor_on_its_sheets() {
    let workspace = workspace(|s| s.replace(STINT, &format!("{STINT}\nsensitive = \"withhold\"")));
    let pages = Pages::of(&workspace);
    let page = pages.get(PATH);
    assert!(page.text().contains("Dunlin"));
    assert!(!page.text().contains("Stint") && !page.text().contains("minuta"));
    std::fs::write(
        workspace.path("got.pdf"),
        pages.get("/west-hide/year.pdf").body,
    )
    .expect("written");
    let told = Command::new("pdftotext")
        .arg(workspace.path("got.pdf"))
        .arg("-")
        .output();
    let Ok(told) = told else {
        return skipped("Poppler's pdftotext is absent");
    };
    let words = String::from_utf8_lossy(&told.stdout);
    assert!(words.contains("Dunlin"), "{words}");
    assert!(
        !words.contains("Stint") && !words.contains("minuta"),
        "{words}"
    );
}

#[test]
fn a_folder_of_pages_has_it_too() {
    let workspace = workspace(|s| s);
    let out = workspace.path("pages");
    workspace
        .run(&["pages", "--out", out.to_str().expect("a plain path")])
        .works();
    let page = std::fs::read_to_string(out.join("west-hide/year.html")).expect("a page");
    for (file, begins) in [("year.pdf", &b"%PDF-"[..]), ("year-1.png", b"\x89PNG")] {
        assert!(
            page.contains(&format!("href=\"../west-hide/{file}\"")),
            "{file}: {page}"
        );
        let bytes = std::fs::read(out.join("west-hide").join(file)).expect("a file");
        assert!(bytes.starts_with(begins), "{file}");
    }
}

#[test]
fn the_page_shuts_nobody_out() {
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
        open_to_all(&driver, &axe, &base, &[("year", "west-hide/year")]).await;
    });
}
