//! Handouts: true to the curves and the sets' files, two sides whoever prints them, without what is
//! sensitive.

mod every_set;
mod refused;
mod sides;

use harness::program::{Ran, Workspace};
use harness::reserve;
use std::path::Path;
use std::process::Command;

const SITES: [(&str, &str); 2] = [("west-hide", "West Hide"), ("east-hide", "East Hide")];

/// The reserve of two hides, with this in its settings.
fn fitted(change: impl Fn(String) -> String) -> Workspace {
    let workspace = Workspace::empty()
        .with("wingtide.toml", change(reserve::settings(&SITES)))
        .with("counts.csv", reserve::counts(&SITES));
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
}

/// Writes the handout of the sandpipers at the west hide.
fn said(workspace: &Workspace, more: &[&str]) -> Ran {
    let command = ["handout", "small-sandpipers", "--site", "west-hide"];
    workspace.run(&[&command, more].concat())
}

/// Writes it, and gives its page.
fn handout(workspace: &Workspace, more: &[&str]) -> String {
    let told = said(workspace, more).works();
    let path = told.lines().next().expect("a path");
    assert!(path.ends_with("handouts/small-sandpipers-west-hide.html"));
    let page = std::fs::read_to_string(path).expect("a page");
    page.replace('\u{a0}', " ")
}

/// Pages of a PDF, as Poppler counts them, and its words; None where Poppler is absent.
fn read(pdf: &Path) -> Option<(usize, String)> {
    let told = Command::new("pdfinfo").arg(pdf).output().ok()?;
    let told = String::from_utf8_lossy(&told.stdout).into_owned();
    let pages = told.lines().find_map(|l| l.strip_prefix("Pages:"))?;
    let words = Command::new("pdftotext").arg(pdf).arg("-").output().ok()?;
    let words = String::from_utf8_lossy(&words.stdout).replace('\u{a0}', " ");
    let words: Vec<&str> = words.split_whitespace().collect();
    Some((pages.trim().parse().expect("a number"), words.join(" ")))
}
