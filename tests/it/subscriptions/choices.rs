//! What a subscriber may do about what they get.

use super::scene::{Scene, mails, path_in, text};
use chrono::{Datelike, NaiveDate};
use serde_json::Value;

fn digests_to(server: &harness::scripted::Scripted, who: &str) -> Vec<String> {
    let all = server
        .mails()
        .into_iter()
        .filter(|(to, _)| to.starts_with(who));
    let texts = all.map(|(_, mail)| text(mail.as_bytes()));
    texts
        .filter(|t| t.contains("This digest goes to"))
        .collect()
}

#[test]
fn those_with_the_same_choices_share_what_is_rendered() {
    let (scene, server) = Scene::scripted();
    for who in ["anna", "bo", "carl"] {
        let mail = format!("{who}@skerrow.example");
        let site = match who {
            "carl" => "loch-arne",
            _ => "long-bank",
        };
        scene.on_the_list(&server, &mail, &[("site", site)]);
    }
    let said = scene.sends("2024-09-04");
    assert!(said.contains("3 deliveries queued"), "{said}");
    assert_eq!(scene.counts("SELECT count(*) FROM contents"), 2);
    let rows = "SELECT count(*) FROM deliveries WHERE recipient LIKE '%@%' OR address LIKE '%@%'";
    assert_eq!(
        scene.counts(rows),
        0,
        "an address stands with the reader alone"
    );
    assert!(digests_to(&server, "anna")[0].contains("anna@skerrow.example"));
    let shown = scene
        .workspace
        .run(&["deliveries", "--json", "--addresses"])
        .works();
    assert!(!shown.contains("anna@"), "{shown}");
}

#[test]
fn only_what_was_chosen_is_told() {
    let (scene, server) = Scene::scripted();
    let mail = "anna@skerrow.example";
    scene.on_the_list(
        &server,
        mail,
        &[("species", "Calidris alpina"), ("site", "long-bank")],
    );
    scene.on_the_list(&server, "bo@skerrow.example", &[("dates", "month-day")]);
    scene.sends("2024-09-04");
    let bo = digests_to(&server, "bo").remove(0);
    assert!(
        bo.contains("September 2 to 8, 2024") && bo.contains("Loch Arne"),
        "{bo}"
    );
    let anna = digests_to(&server, "anna").remove(0);
    // the stint stays beside the Dunlin that it is taken for
    assert!(
        anna.contains("Dunlin") && anna.contains("Little Stint"),
        "{anna}"
    );
    assert!(!anna.contains("Loch Arne"), "{anna}");
}

/// Stints come about 6 September: their window opens once in August, and what does not open is not told.
#[test]
fn who_is_told_of_openings_alone_hears_when_one_comes() {
    let (scene, server) = Scene::scripted();
    scene.on_the_list(
        &server,
        "anna@skerrow.example",
        &[("frequency", "openings")],
    );
    let first = NaiveDate::from_ymd_opt(2024, 8, 5).expect("a Monday");
    let mut told = Vec::new();
    for monday in first.iter_weeks().take(11) {
        let before = digests_to(&server, "anna").len();
        scene.sends(&monday.to_string());
        let after = digests_to(&server, "anna");
        if after.len() > before {
            told.push((monday, after[before].clone()));
        }
    }
    assert!(
        (1..=3).contains(&told.len()),
        "told in {} of 11 weeks",
        told.len()
    );
    for (monday, digest) in &told {
        assert!(monday.month() == 8, "{monday}");
        let why = [
            "The window opens of",
            "Look-alikes begin to be about together",
        ];
        assert!(why.iter().any(|w| digest.contains(w)), "{digest}");
    }
}

#[test]
fn a_subscriber_pauses_comes_back_and_leaves() {
    let (scene, server) = Scene::scripted();
    let page = scene.on_the_list(&server, "anna@skerrow.example", &[]);
    let wishes = [
        ("pause", "2024-09-04", 0),
        ("back", "2024-09-11", 1),
        ("leave", "2024-09-18", 1),
    ];
    for (wish, date, digests) in wishes {
        assert_eq!(scene.presses(&page, &[("wish", wish)]).code, 303, "{wish}");
        scene.sends(date);
        assert_eq!(digests_to(&server, "anna").len(), digests, "{wish}");
    }
    // who left puts themselves down anew, and is asked again
    scene.later(3601);
    let page = scene.on_the_list(&server, "anna@skerrow.example", &[("site", "loch-arne")]);
    scene.sends("2024-09-25");
    assert_eq!(digests_to(&server, "anna").len(), 2);
    assert_eq!(scene.pages.get(&page).code, 200);
}

#[test]
fn what_somebody_who_left_had_chosen_stays_until_they_confirm_anew() {
    let (scene, server) = Scene::scripted();
    let mail = "anna@skerrow.example";
    let page = scene.on_the_list(&server, mail, &[("site", "long-bank")]);
    assert_eq!(scene.presses(&page, &[("wish", "leave")]).code, 303);
    scene.later(3601);
    let before = server.mails().len();
    // whoever that is
    assert_eq!(scene.subscribes(mail, &[("site", "loch-arne")]).code, 303);
    let letter = mails(&server, before + 1).remove(before);
    let held = || -> Value {
        let data = scene.presses(&page, &[("wish", "data")]);
        serde_json::from_str(&data.body).expect("JSON")
    };
    let left = held();
    assert_eq!(left["standing"], "left");
    assert_eq!(left["choices"]["sites"][0], "long-bank");
    let done = scene.presses(&path_in(&letter.1, "confirm"), &[]);
    assert_eq!(done.code, 200, "{}", done.body);
    let back = held();
    assert_eq!(back["standing"], "reads");
    assert_eq!(back["choices"]["sites"][0], "loch-arne");
}

#[test]
fn all_that_is_held_is_handed_out_and_forgotten() {
    let (scene, server) = Scene::scripted();
    let page = scene.on_the_list(&server, "anna@skerrow.example", &[("site", "long-bank")]);
    scene.sends("2024-09-04");
    let data = scene.presses(&page, &[("wish", "data")]);
    assert_eq!(data.header("content-type"), "application/json");
    let held: Value = serde_json::from_str(&data.body).expect("JSON");
    assert_eq!(held["address"], "anna@skerrow.example");
    assert_eq!(held["standing"], "reads");
    assert_eq!(held["choices"]["sites"][0], "long-bank");
    assert_eq!(held["deliveries"][0]["state"], "sent");
    let unsure = scene.presses(&page, &[("wish", "forget")]);
    assert_eq!(unsure.code, 422);
    let gone = scene.presses(&page, &[("wish", "forget"), ("sure", "yes")]);
    assert_eq!(gone.code, 200, "{}", gone.body);
    assert_eq!(scene.pages.get(&page).code, 404);
    assert_eq!(
        scene.counts("SELECT count(*) FROM deliveries WHERE state = 'sent'"),
        1
    );
    for (path, bytes) in scene.workspace.store() {
        let found = bytes.windows(5).any(|w| w == b"anna@");
        assert!(!found, "{} still has the address", path.display());
    }
}

#[test]
fn what_the_settings_say_gives_way_to_what_a_reader_chose() {
    let server = harness::scripted::Scripted::start();
    let reader = crate::deliveries::fixture::recipient("Anna@skerrow.example", "");
    let scene = Scene::new(&server.settings(""), &reader);
    scene.on_the_list(&server, "anna@skerrow.example", &[("site", "loch-arne")]);
    scene.sends("2024-09-04");
    let own = digests_to(&server, "anna");
    assert_eq!(own.len(), 1);
    assert!(!own[0].contains("Long Bank"), "{}", own[0]);
}

#[test]
fn an_address_of_the_settings_is_all_that_stays_of_its_reader() {
    let server = harness::scripted::Scripted::start();
    let reader = crate::deliveries::fixture::recipient("Anna@skerrow.example", "name = \"Anna\"");
    let scene = Scene::new(&server.settings(""), &reader);
    let page = scene.on_the_list(&server, "anna@skerrow.example", &[("site", "loch-arne")]);
    scene.sends("2024-09-04");
    let gone = scene.presses(&page, &[("wish", "forget"), ("sure", "yes")]);
    assert_eq!(gone.code, 200, "{}", gone.body);
    assert!(
        gone.body.contains("forgotten but your address"),
        "{}",
        gone.body
    );
    let all = "SELECT count(*) FROM deliveries";
    assert_eq!(scene.counts(all), 1, "what went out stays as a row");
    let told = "SELECT count(*) FROM deliveries WHERE reader IS NOT NULL OR name IS NOT NULL
        OR answer IS NOT NULL OR contents IS NOT NULL OR address != 'erased'";
    assert_eq!(scene.counts(told), 0, "it tells of nobody");
    let left = "SELECT count(*) FROM readers WHERE state = 'left'";
    assert_eq!(scene.counts(left), 1);
    scene.sends("2024-09-11");
    assert_eq!(digests_to(&server, "anna").len(), 1, "no other goes there");
}

#[test]
fn nobody_can_subscribe_where_it_is_not_offered() {
    let server = harness::scripted::Scripted::start();
    let workspace = crate::deliveries::fixture::reserve(&server.settings(""));
    let scene = Scene::of(workspace);
    assert_eq!(scene.pages.get("/subscribe").code, 404);
    let sent = scene
        .pages
        .post("/subscribe", &[("mail", "anna@skerrow.example")]);
    assert_eq!(sent.code, 404);
    assert!(mails(&server, 0).is_empty());
}
