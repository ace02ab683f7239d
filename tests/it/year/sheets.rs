//! Sheets from the command.

use super::{STINT, drawn, svg, windows, workspace};
use harness::places::skipped;
use notifier::year::SMALLEST_POINTS;
use std::process::Command;

/// What stands in SVG's text elements.
fn texts(svg: &str) -> Vec<&str> {
    let texts = svg.split("<text ").skip(1);
    let inner = texts.filter_map(|t| t.split_once('>')?.1.split_once("</text>"));
    inner.map(|(text, _)| text).collect()
}

#[test]
fn dates_are_those_of_the_windows() {
    let workspace = workspace(|s| s);
    let svg = svg(&workspace, &[]);
    let texts = texts(&svg);
    let windows = windows(&workspace);
    assert_eq!(windows.len(), 1, "stints pass, Dunlin stay: {windows:?}");
    for [arrival, peak, departure] in windows {
        let bar = format!("{arrival} – {departure}");
        let plain = |t: &&str| t.trim_matches(['&', 'l', 'g', 't', ';']) == bar;
        assert!(texts.iter().any(plain), "{bar}: {texts:?}");
        assert!(texts.contains(&peak.as_str()), "{peak}: {texts:?}");
    }
    // the stints' highest day is one, the Dunlin have none that a window could tell
    let names = ["Little Stint", "Dunlin"].map(|name| texts.iter().position(|t| *t == name));
    assert!(names[0].expect("stints") < names[1].expect("Dunlin"));
    assert!(texts.contains(&"about all year") || texts.contains(&"no season shows"));
}

#[test]
fn a_sheet_says_what_it_is_and_what_it_is_not() {
    let workspace = workspace(|s| s + "\n[handout]\nlicence = \"Copy it & name us\"\n");
    let sheet = svg(&workspace, &[]);
    let all: Vec<&str> = texts(&sheet);
    // lines break where they must
    let words = all.join(" ").replace("<tspan font-weight=\"bold\">", "");
    let words = words.replace("</tspan>", "");
    for needed in [
        "The year at West Hide",
        "Skerrow Ness. What one standard visit finds in an average year. From 122 visits in 10 years, 2014 to 2023.",
        "Each species has a scale of its own",
        "Heights of two species cannot be compared.",
        "its 80 % interval",
        "Hatched: nobody watches then.",
        "Too few records for a curve, with birds counted: Ruff (2).",
        "A chart of what is usual identifies no bird",
        "No count is worth your safety",
        "Copy it &amp; name us",
        "What the keeper calls sensitive is left out.",
        "Daylight",
    ] {
        assert!(words.contains(needed), "{needed}: {words}");
    }
    assert!(!words.contains("warden@"), "no address");
    assert!(sheet.contains("<title id=\"year-title\">The year at West Hide</title>"));
    assert!(sheet.contains("<desc id=\"year-text\">Little Stint: highest "));
    let own = svg(&workspace, &["--licence", "Keep it."]);
    assert!(own.contains("Keep it.") && !own.contains("name us"));
}

#[test]
fn no_letter_is_too_small_to_read() {
    let workspace = workspace(|s| s);
    for paper in ["a3", "a2"] {
        let svg = svg(&workspace, &["--paper", paper]);
        let sizes = svg.split("font-size=\"").skip(1);
        let sizes: Vec<f64> = sizes
            .filter_map(|s| s.split('"').next()?.parse().ok())
            .collect();
        assert!(sizes.len() > 40, "{}", sizes.len());
        // in millimetres, a point being 25.4 / 72 of them (ISO 32000-1, 8.3.2.3)
        let least = SMALLEST_POINTS * 25.4 / 72.0;
        let smallest = sizes.into_iter().fold(f64::INFINITY, f64::min);
        assert!(smallest >= least - 1e-3, "{smallest} on {paper}");
    }
    const { assert!(SMALLEST_POINTS >= 7.0) }
}

/// ISO 216 in points of 1/72 inch; in dots of 1/150 inch across, and down in proportion.
#[test]
fn a_pdf_is_one_page_and_a_png_one_picture_of_the_paper() {
    let workspace = workspace(|s| s);
    for (paper, points, dots) in [
        ("a3", (841.89, 1190.55), (1754, 2480)),
        ("a2", (1190.55, 1683.78), (2480, 3507)),
    ] {
        let pdf = drawn(&workspace, "year.pdf", &["--paper", paper]);
        let text = String::from_utf8_lossy(&pdf);
        // a page object has one such box (ISO 32000-1, table 30)
        let boxes: Vec<&str> = text.split("/MediaBox").skip(1).collect();
        assert_eq!(boxes.len(), 1, "{paper}");
        let numbers = boxes[0].trim_start_matches([' ', '[']);
        let numbers = numbers.split(']').next().expect("a box");
        let numbers: Vec<f64> = numbers
            .split_whitespace()
            .map(|n| n.parse().expect("a number"))
            .collect();
        let off = (numbers[2] - points.0)
            .abs()
            .max((numbers[3] - points.1).abs());
        assert!(off < 0.01, "{numbers:?} for {paper}");
        let png = drawn(&workspace, "year.png", &["--paper", paper]);
        let size = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().expect("four bytes"));
        // width and height stand first in the first chunk (PNG, 11.2.1)
        assert_eq!((size(16), size(20)), dots, "{paper}");
    }
}

#[test]
fn a_pdf_can_be_searched() {
    let workspace = workspace(|s| s);
    drawn(&workspace, "year.pdf", &[]);
    let told = Command::new("pdftotext")
        .arg(workspace.path("year.pdf"))
        .arg("-")
        .output();
    let Ok(told) = told else {
        return skipped("Poppler's pdftotext is absent");
    };
    let words = String::from_utf8_lossy(&told.stdout).replace('\u{a0}', " ");
    for needed in ["The year at West Hide", "Little Stint", "How to read it"] {
        assert!(words.contains(needed), "{needed}: {words}");
    }
}

#[test]
fn a_sensitive_species_is_for_the_keeper_alone() {
    let workspace = workspace(|s| s.replace(STINT, &format!("{STINT}\nsensitive = \"withhold\"")));
    let for_all = svg(&workspace, &[]);
    assert!(for_all.contains("Dunlin"));
    for secret in ["Stint", "minuta"] {
        assert!(!for_all.contains(secret), "{secret}: {for_all}");
    }
    let own = svg(&workspace, &["--with-sensitive"]);
    assert!(own.contains("Little Stint"));
    assert!(own.contains("For the keeper alone: sensitive species or sites are on this sheet."));
    assert!(!own.contains("is left out"));
}

#[test]
fn a_sensitive_site_is_refused_or_has_another_name_and_no_sun() {
    let kept = |how: &'static str| {
        move |s: String| s.replace("id = \"west-hide\"", &format!("id = \"west-hide\"\n{how}"))
    };
    let withheld = workspace(kept("sensitive = \"withhold\""));
    let told = withheld.run(&["year", "--site", "west-hide"]).fails();
    assert!(told.contains("is withheld"), "{told}");
    assert!(
        !withheld.path("handouts").exists(),
        "nothing is half-written"
    );
    assert!(svg(&withheld, &["--with-sensitive"]).contains("West Hide"));

    let coarse = workspace(kept("sensitive = \"coarsen\"\ncoarsen_km = 10"));
    let for_all = svg(&coarse, &[]);
    assert!(for_all.contains("The year at Area "), "{for_all}");
    for secret in ["West Hide", "west-hide", "Daylight"] {
        assert!(!for_all.contains(secret), "{secret}: {for_all}");
    }
    let own = svg(&coarse, &["--with-sensitive"]);
    assert!(own.contains("West Hide") && own.contains("Daylight"));
}

#[test]
fn what_cannot_be_drawn_is_told_and_nothing_is_written() {
    let workspace = workspace(|s| s);
    for (command, said) in [
        (
            ["--site", "wst-hide", "--out", "a.svg"],
            "did you mean \"west-hide\"?",
        ),
        (
            ["--site", "west-hide", "--out", "a.gif"],
            "expected it to end in .svg, .png or .pdf",
        ),
        (
            ["--site", "west-hide", "--out", "nowhere/a.pdf"],
            "there is no folder nowhere",
        ),
    ] {
        let told = workspace.run(&[&["year"][..], &command].concat()).fails();
        assert!(told.contains(said), "{told}");
    }
    let ran = workspace.run(&["year", "--site", "west-hide", "--paper", "a5"]);
    assert_eq!(ran.code, 2, "{}", ran.err);
    let usual = workspace.run(&["year", "--site", "west-hide"]).works();
    assert!(
        usual.trim_end().ends_with("handouts/year-west-hide.pdf"),
        "{usual}"
    );
    let own = ["year", "--site", "west-hide", "--with-sensitive"];
    let own = workspace.run(&own).works();
    assert!(
        own.trim_end()
            .ends_with("handouts/year-west-hide-own-use.pdf"),
        "{own}"
    );
}

#[test]
fn a_site_without_a_curve_has_no_year() {
    let few = |s: String| s + &harness::written::site("far-hide", "Far Hide");
    let settings = few(harness::reserve::settings(&super::SITES));
    let mut counts = harness::reserve::counts(&super::SITES);
    counts.push_str("2015-08-20,far-hide,Dunlin,1\n");
    let workspace = crate::web::scene::fitted(&settings, &counts);
    let told = workspace.run(&["year", "--site", "far-hide"]).fails();
    assert!(
        told.contains("no species at Far Hide has records enough for a curve"),
        "{told}"
    );
    let page = crate::web::scene::Pages::of(&workspace).get("/far-hide/year");
    assert!(
        page.text()
            .contains("No species has records enough for a curve yet.")
    );
}
