//! Subject, text and HTML against the files beside, and what holds for all of them.

use super::digests::{autumn, quiet, stale};
use crate::digest::{Digest, Notice, Pictures};
use std::path::PathBuf;
use unicode_width::UnicodeWidthStr;

/// Compares with `tests-data/digest/NAME`; with `WRITE_EXPECTED` set, writes it instead, to be
/// read and committed.
fn expect(name: &str, got: &str) {
    let dir = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests-data/digest");
    let path = dir.join(name);
    if std::env::var_os("WRITE_EXPECTED").is_some() {
        std::fs::write(&path, got).unwrap();
    }
    let expected = std::fs::read_to_string(&path).unwrap_or_default();
    for (i, (want, have)) in expected.lines().zip(got.lines()).enumerate() {
        assert_eq!(have, want, "{name}, line {}", i + 1);
    }
    assert_eq!(
        got.lines().count(),
        expected.lines().count(),
        "{name}: number of lines"
    );
}

fn expect_all(name: &str, digest: &Digest) {
    expect(&format!("{name}.subject.txt"), &digest.subject().unwrap());
    expect(&format!("{name}.txt"), &digest.text().unwrap());
    // Pictures by reference: the page itself, without their bytes.
    let html = digest
        .html_with(Pictures::Parts("abc@skerrow.example"))
        .unwrap();
    expect(&format!("{name}.html"), &html);
}

#[test]
fn the_height_of_autumn() {
    expect_all("autumn", &autumn());
}

#[test]
fn a_quiet_week() {
    expect_all("quiet", &quiet());
}

#[test]
fn stale_counts_and_a_failed_fit() {
    expect_all("stale", &stale());
}

#[test]
fn a_site_that_is_not_watched_says_so_and_nothing_else() {
    let mut digest = quiet();
    let guidance = &mut digest.sites[0].guidance;
    guidance.watched = false;
    guidance.sets.clear();
    assert_eq!(digest.sites[0].notices(), [Notice::NotWatched]);
    assert!(
        digest
            .subject()
            .unwrap()
            .ends_with("not watched at this time of the year")
    );
    let text = digest.text().unwrap();
    assert!(
        text.contains("not watched") && !text.contains("quiet week"),
        "{text}"
    );
}

#[test]
fn everybody_is_told_of_no_source_by_name() {
    let mut words = Vec::new();
    for notice in stale().notices {
        words.push(notice.for_everybody().words());
    }
    let told = words.join(" ");
    assert!(!told.contains("notebook"), "{told}");
    let source = "A source of counts could not be reached.";
    assert!(told.contains(source), "{told}");
}

#[test]
fn a_given_notice_is_not_said_twice() {
    let mut digest = quiet();
    digest.sites[0].notices = vec![Notice::QuietWeek];
    assert_eq!(digest.sites[0].notices(), [Notice::QuietWeek]);
}

#[test]
fn text_keeps_to_78_columns_and_has_no_trailing_spaces() {
    let mut long = stale();
    long.title = "Diese Woche ".repeat(20);
    long.sites[0].guidance.site_name = "Lange Bank ".repeat(12);
    long.sites[0].guidance.cautions = vec!["x".repeat(300)];
    for digest in [autumn(), quiet(), stale(), long] {
        for line in digest.text().unwrap().lines() {
            assert!(line.width() <= 78, "{line}");
            assert_eq!(line, line.trim_end());
        }
    }
}

#[test]
fn sites_with_the_same_marks_say_them_once() {
    let mut digest = autumn();
    let mut second = digest.sites[0].clone();
    second.guidance.site_name = "Tern Lagoon".into();
    second.guidance.cautions.push("Terns nest here.".into());
    second.guidance.sets[1].members.reverse();
    second.guidance.sets[1].marks[0].shows.reverse();
    digest.sites.push(second.clone());
    let text = digest.text().unwrap();
    assert_eq!(text.matches("- Bill (structure)").count(), 1);
    assert_eq!(
        text.matches("Marks: the same as under Long Bank.").count(),
        1
    );
    for once in [
        "high water",
        "Terns nest here",
        "A forecast never",
        "When no name fits",
        "Chances: of",
    ] {
        assert_eq!(text.matches(once).count(), 1, "{once}");
    }
    // Another bird about, other marks.
    second.guidance.sets[1]
        .members
        .iter_mut()
        .for_each(|m| m.chance_week = 0.5);
    digest.sites[1] = second;
    assert_eq!(
        digest.text().unwrap().matches("- Bill (structure)").count(),
        2
    );
}

#[test]
fn names_cannot_bring_in_markup() {
    let evil = "<script>alert(\"x\")</script>&'";
    let mut digest = autumn();
    digest.title = evil.into();
    digest.workspace = evil.into();
    digest.about = Some(evil.into());
    digest.keeper = Some(evil.into());
    digest.more = Some(evil.into());
    let site = &mut digest.sites[0];
    site.guidance.site_name = evil.into();
    site.guidance.cautions = vec![evil.into()];
    site.guidance.reminder = evil.into();
    site.guidance.when_none_fits = evil.into();
    site.record = Some(evil.into());
    site.figures[0].alt = format!("{evil}\" onerror=\"x");
    site.notices = vec![Notice::TooFewRecords(vec![evil.into()])];
    for set in &mut site.guidance.sets {
        set.title = evil.into();
        set.review = evil.into();
        set.cannot_tell = vec![evil.into()];
        set.members[0].name = evil.into();
        set.members[0].species = format!("{evil}a");
        for mark in &mut set.marks {
            mark.part = evil.into();
            mark.shows[0].1 = evil.into();
        }
    }
    let html = digest.html().unwrap();
    assert!(
        !html.contains("<script") && !html.contains("onerror=\"x"),
        "markup came through"
    );
    assert!(html.matches("&lt;script&gt;").count() >= 10);
}

#[test]
fn a_page_names_no_other_place() {
    let mut digest = autumn();
    digest.more = None;
    let html = digest.html().unwrap();
    assert!(
        html.contains("src=\"data:image/png;base64,iVBORw0KGgo"),
        "PNG begins so in base64"
    );
    for outside in ["http:", "https:", "url(", "<link", "<script", "cid:"] {
        assert!(!html.contains(outside), "{outside}");
    }
}

#[test]
fn files_are_written_whole_and_nothing_else_is_left() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("deep/er");
    let digest = autumn();
    let stamp = super::digests::stamp();
    for _ in 0..2 {
        let written = crate::digest::write(&out, &digest, &stamp).unwrap();
        assert_eq!(
            std::fs::read_to_string(written.text).unwrap(),
            digest.text().unwrap()
        );
        assert_eq!(
            std::fs::read_to_string(written.html).unwrap(),
            digest.html().unwrap()
        );
        assert_eq!(
            std::fs::read(written.mail).unwrap(),
            digest.eml(&stamp).unwrap()
        );
    }
    assert_eq!(std::fs::read_dir(&out).unwrap().count(), 3);
}

#[test]
fn a_bad_address_writes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("out");
    let mut stamp = super::digests::stamp();
    stamp.to = "nobody".into();
    let error = crate::digest::write(&out, &autumn(), &stamp)
        .unwrap_err()
        .to_string();
    assert!(
        error.starts_with("[digest] to = \"nobody\" is no mail address"),
        "{error}"
    );
    assert!(!out.exists());
}

#[test]
fn too_few_records_are_told_after_the_chances() {
    let with = |names: &[&str]| {
        let mut digest = autumn();
        let names = names.iter().map(|n| (*n).to_owned()).collect();
        let few = Notice::TooFewRecords(names);
        digest.sites[0].notices.insert(0, few);
        digest
    };
    let (one, two) = (with(&["Ruff"]), with(&["Ruff", "Knot"]));
    assert!(one.sites[0].notices().last().unwrap().comes_last());
    let text = one.text().unwrap().replace('\n', " ");
    let place = |what: &str| text.find(what).unwrap_or_else(|| panic!("{what}: {text}"));
    let told = place("seasonal curve: Ruff. Its chances come from");
    assert!(place("Also to be expected") < told && told < place("For every bird"));
    let html = one
        .html_with(Pictures::Parts("abc@skerrow.example"))
        .unwrap();
    let told = html.find("curve: Ruff. Its chances come").expect("told");
    assert!(html.find("Also to be expected").expect("others") < told);
    assert!(
        two.text()
            .unwrap()
            .replace('\n', " ")
            .contains("Ruff and Knot. Their chances")
    );
}
