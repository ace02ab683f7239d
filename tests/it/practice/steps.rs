//! The steps of the page.

use super::{page, workspace};
use crate::web::scene::Pages;
use axum::http::StatusCode;
use notifier::practice::{Told, Wanted, draw, told};
use notifier::web::Snapshot;

/// A bird with two marks or more, and its seed.
fn bird(snapshot: &Snapshot) -> Told {
    let drawn = (1..=50).filter_map(|seed| draw(snapshot, &Wanted::default(), seed));
    let told = drawn.map(|exercise| told(&exercise));
    told.into_iter()
        .find(|t| t.clues.len() >= 3)
        .expect("a bird with three marks")
}

fn escaped(text: &str) -> String {
    text.replace('"', "&quot;")
        .replace('\'', "&apos;")
        .replace('\u{a0}', " ")
}

#[test]
fn marks_come_one_by_one_and_the_key_at_the_end() {
    let workspace = workspace(|s| s);
    let pages = Pages::of(&workspace);
    let snapshot = Snapshot::read(&workspace.path("")).expect("a workspace");
    let told = bird(&snapshot);
    let seed = told.seed;
    let first = page(&pages, &format!("seed={seed}"));
    let marks = |text: &str| {
        told.clues
            .iter()
            .filter(|c| text.contains(&escaped(&c.text)))
            .count()
    };
    assert_eq!(marks(&first), 1, "{first}");
    assert!(first.contains("A forecast never identifies a bird"));
    assert!(!first.contains("drawn as") && !first.contains("could not be told"));
    let second = page(
        &pages,
        &format!("seed={seed}&marks=1&more=yes&chance=60&why=so"),
    );
    assert_eq!(marks(&second), 2);
    assert!(
        second.contains("value=\"60\"") && second.contains(">so</textarea>"),
        "{second}"
    );
    let query =
        format!("seed={seed}&marks=2&chance=70&chance=30&why=%3Cb%3Ethin%3C/b%3E&answer=yes");
    let last = page(&pages, &query);
    assert_eq!(marks(&last), told.clues.len());
    for needed in [
        &format!("It was drawn as: {}", told.key.name),
        "What could not be told",
        "Trap:",
        "&lt;b&gt;thin&lt;/b&gt;",
        "You asked for 2 of its",
        "Nobody but their author",
    ] {
        assert!(last.contains(needed), "{needed}: {last}");
    }
    for text in &told.key.untold {
        assert!(last.contains(&escaped(text)), "{text}");
    }
    // by hand: 0.7 and 0.3 to the first and second member
    let place = told.members.iter().position(|m| m.name == told.key.name);
    let score = ["0.18", "0.98", "1.58"][place.expect("a member").min(2)];
    assert!(
        last.contains(&format!("<td class=\"chief\">{score}</td>")),
        "{score}: {last}"
    );
    assert!(!last.contains("were scaled"));
    let scaled = page(&pages, &format!("seed={seed}&chance=7&chance=3&answer=yes"));
    assert!(
        scaled.contains("yours added up to 10 % and were scaled to 100"),
        "{scaled}"
    );
    assert!(scaled.contains(&format!("<td class=\"chief\">{score}</td>")));
}

#[test]
fn what_cannot_be_scored_is_told_and_nothing_is_lost() {
    let workspace = workspace(|s| s);
    let pages = Pages::of(&workspace);
    let wrong = page(&pages, "seed=1&chance=many&chance=30&why=thin&answer=yes");
    assert!(wrong.contains("role=\"alert\""), "{wrong}");
    assert!(wrong.contains("is no chance; expected a percent from 0 to 100."));
    assert!(wrong.contains("value=\"many\"") && wrong.contains(">thin</textarea>"));
    assert!(!wrong.contains("drawn as"));
    let nothing = page(&pages, "seed=1&answer=yes");
    assert!(nothing.contains("Give a chance above 0"), "{nothing}");
    for (query, code) in [
        ("seed=0", StatusCode::BAD_REQUEST),
        ("seed=many", StatusCode::BAD_REQUEST),
        ("seed=1000000000", StatusCode::BAD_REQUEST),
        ("seed=1&site=north-hide", StatusCode::NOT_FOUND),
        ("seed=1&set=nothing", StatusCode::NOT_FOUND),
    ] {
        assert_eq!(
            pages.get(&format!("/practice?{query}")).code,
            code,
            "{query}"
        );
    }
    let long = format!("/practice?seed=1&why={}", "a".repeat(601));
    assert_eq!(pages.get(&long).code, StatusCode::BAD_REQUEST);
}

#[test]
fn it_begins_on_a_page_of_its_own_and_is_linked() {
    let workspace = workspace(|s| s);
    let pages = Pages::of(&workspace);
    assert!(pages.get("/").text().contains("href=\"/practice\""));
    let start = page(&pages, "");
    assert!(start.contains("value=\"1997000\""), "{start}");
    let set = pages.get("/west-hide/set/small-sandpipers");
    let link = "href=\"/practice?site=west-hide&amp;set=small-sandpipers&amp;seed=1\"";
    assert!(set.text().contains(link), "{}", set.text());
    let asked = pages.get("/practice?seed=3");
    assert!(
        asked
            .field("content-security-policy")
            .contains("form-action 'self'")
    );
    assert!(!asked.text().contains("<script") && !asked.text().contains(" style="));
}

/// A withheld species is never a member, a withheld site never a ground.
#[test]
fn what_is_withheld_is_never_drawn() {
    let kept = "scientific = \"Calidris minuta\"";
    let workspace = workspace(|s| s.replace(kept, &format!("{kept}\nsensitive = \"withhold\"")));
    let pages = Pages::of(&workspace);
    let none = page(&pages, "seed=1");
    assert!(none.contains("Nothing can be drawn there"), "{none}");
    assert!(!none.contains("Little Stint"));
    let site = "id = \"west-hide\"";
    let workspace =
        super::workspace(|s| s.replace(site, &format!("{site}\nsensitive = \"withhold\"")));
    let pages = Pages::of(&workspace);
    for seed in 1..=12 {
        assert!(
            !page(&pages, &format!("seed={seed}")).contains("West Hide"),
            "{seed}"
        );
    }
    let asked = pages.get("/practice?seed=1&site=west-hide");
    assert_eq!(asked.code, StatusCode::NOT_FOUND);
}
