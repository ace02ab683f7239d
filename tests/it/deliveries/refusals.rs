//! What becomes of mail that is not taken: by kind of answer, each reader alone.

use super::fixture::{deliveries, recipient, reserve, resettle, send, states};
use harness::program::Workspace;
use harness::scripted::{Deed, Scripted};
use serde_json::Value;
use std::collections::BTreeMap;

const NAMES: [&str; 6] = ["taken", "later", "never", "nobody", "within", "unheard"];

fn address(name: &str) -> String {
    format!("{name}@skerrow.example")
}

fn settings(server: &Scripted, more: &str) -> String {
    let readers: String = NAMES.iter().map(|n| recipient(&address(n), "")).collect();
    server.settings(more) + &readers
}

fn state(rows: &BTreeMap<String, Value>, name: &str) -> (String, u64, u64) {
    let row = &rows[&address(name)];
    let number = |key: &str| row[key].as_u64().expect("a number");
    let state = row["state"].as_str().expect("a state").to_owned();
    (state, number("tries"), number("in_doubt"))
}

fn retry(workspace: &Workspace, who: &str) -> BTreeMap<String, usize> {
    states(&workspace.run(&["deliveries", "--retry", who]).out)
}

#[test]
fn every_answer_has_its_consequence_for_one_reader_alone() {
    let server = Scripted::start();
    server.does(&address("later"), &[Deed::Rcpt("451 4.7.1 greylisted")]);
    server.does(
        &address("never"),
        &[Deed::End("554 5.7.1 no such mail here")],
    );
    server.does(
        &address("nobody"),
        &[Deed::Rcpt("550 5.1.1 no such user nobody@skerrow.example")],
    );
    server.does(&address("within"), &[Deed::GoWithin]);
    server.does(&address("unheard"), &[Deed::TakeAndGo]);
    let workspace = reserve(&settings(&server, "sessions = 1"));
    let (code, counts, said) = send(&workspace);
    let wanted = [("sent", 1), ("waiting", 3), ("refused", 2)];
    let wanted: BTreeMap<_, _> = wanted.map(|(s, n)| (s.to_owned(), n)).into();
    assert_eq!((code, &counts), (0, &wanted), "{said}");
    assert!(said.contains("What waits is tried again from"), "{said}");
    let rows = deliveries(&workspace);
    let of = |name| state(&rows, name);
    assert_eq!(of("taken"), ("sent".into(), 1, 0));
    assert_eq!(of("later"), ("waiting".into(), 1, 0));
    assert_eq!(of("never"), ("refused".into(), 1, 0));
    assert_eq!(of("within"), ("waiting".into(), 1, 1));
    assert_eq!(of("unheard"), ("waiting".into(), 1, 1));
    assert_eq!(rows[&address("later")]["answer"], "451 4.7.1 greylisted");
    shown_masked(&workspace);
    assert_eq!(
        retry(&workspace, "all").get("sent"),
        Some(&5),
        "a mailbox that is none stays out"
    );
    let ids: BTreeMap<String, Vec<String>> = ids(&server);
    assert_eq!(
        ids[&address("taken")].len(),
        1,
        "what was taken goes out once"
    );
    let twice = &ids[&address("unheard")];
    assert_eq!(
        twice.len(),
        2,
        "it may have been lost, so it goes out again"
    );
    assert_eq!(twice[0], twice[1], "under the same Message-ID");
    assert!(!ids.contains_key(&address("nobody")));
}

fn ids(server: &Scripted) -> BTreeMap<String, Vec<String>> {
    let mut ids: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (reader, id) in server.taken() {
        ids.entry(reader).or_default().push(id);
    }
    ids
}

/// A mailbox that is none pauses its reader, and the table shows no whole address.
fn shown_masked(workspace: &Workspace) {
    let shown = workspace.run(&["deliveries"]).works();
    assert!(
        shown.contains("n…@skerrow.example is paused since"),
        "{shown}"
    );
    assert!(
        shown.contains("n…@skerrow.example: refused after 1 try: 554 5.7.1"),
        "{shown}"
    );
    assert!(shown.contains("2 may have arrived twice"), "{shown}");
    for name in NAMES {
        assert!(!shown.contains(&format!("{}:", address(name))), "{shown}");
    }
    let whole = workspace.run(&["deliveries", "--addresses"]).works();
    assert!(whole.contains("never@skerrow.example: refused"), "{whole}");
}

#[test]
fn a_server_that_is_away_costs_nobody_a_digest() {
    let server = Scripted::start();
    let workspace = reserve(&settings(&server, ""));
    server.greets(Some("421 4.3.2 closing for the night"));
    let (code, counts, said) = send(&workspace);
    assert_eq!((code, counts.get("waiting")), (1, Some(&6)), "{said}");
    let told = said.contains("421 4.3.2 closing for the night");
    assert!(told && said.contains("6 mails wait"), "{said}");
    server.greets(Some("554 5.7.1 not with you"));
    let ran = workspace.run(&["deliveries", "--retry", "waiting"]);
    assert_eq!(
        (ran.code, states(&ran.out).get("waiting")),
        (1, Some(&6)),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("554 5.7.1 not with you"), "{}", ran.err);
    server.greets(None);
    server.answers_sender(Some("550 5.7.1 sender refused"));
    assert_eq!(
        retry(&workspace, "all").get("waiting"),
        Some(&6),
        "it is not the readers' fault"
    );
    server.answers_sender(None);
    assert_eq!(retry(&workspace, "all").get("sent"), Some(&6));
    assert!(
        ids(&server).values().all(|ids| ids.len() == 1),
        "{:?}",
        server.taken()
    );
}

#[test]
fn what_waits_is_not_tried_before_its_time() {
    let server = Scripted::start();
    server.does(&address("later"), &[Deed::Rcpt("451 4.7.1 greylisted")]);
    let workspace = reserve(&settings(&server, ""));
    assert_eq!(send(&workspace).1.get("waiting"), Some(&1));
    let (_, counts, _) = send(&workspace);
    assert_eq!(counts.get("waiting"), Some(&1), "a minute has not gone by");
    let row = &deliveries(&workspace)[&address("later")];
    let at = |key: &str| {
        let text = row[key].as_str().expect("a time");
        chrono::DateTime::parse_from_rfc3339(text).expect("RFC 3339")
    };
    assert_eq!((at("due_at") - at("tried_at")).num_seconds(), 60, "{row}");
}

#[test]
fn a_delivery_can_be_given_up_and_taken_up_again() {
    let server = Scripted::start();
    server.does(
        &address("later"),
        &[Deed::Rcpt("451 no"), Deed::Rcpt("451 no")],
    );
    let workspace = reserve(&settings(&server, ""));
    send(&workspace);
    let given_up = workspace.run(&["deliveries", "--abandon", "Later@skerrow.example"]);
    assert_eq!(
        (given_up.code, given_up.err.as_str()),
        (0, "1 delivery given up.\n")
    );
    assert_eq!(
        retry(&workspace, "all").get("abandoned"),
        Some(&1),
        "all is not enough"
    );
    assert_eq!(
        retry(&workspace, &address("later")).get("waiting"),
        Some(&1)
    );
    assert_eq!(retry(&workspace, &address("later")).get("sent"), Some(&6));
    let said = workspace
        .run(&["deliveries", "--retry", "latr@skerrow.example"])
        .fails();
    assert!(
        said.contains("did you mean \"later@skerrow.example\"?"),
        "{said}"
    );
    let said = workspace
        .run(&["deliveries", "--digest", "another"])
        .fails();
    assert!(said.contains("there is no digest \"another\""), "{said}");
    let said = workspace
        .run(&["deliveries", "--resume", &address("taken")])
        .fails();
    assert!(said.contains("neither paused nor off the list"), "{said}");
}

#[test]
fn who_is_struck_from_the_settings_gets_nothing_that_waits() {
    let server = Scripted::start();
    server.does(&address("later"), &[Deed::Rcpt("451 no")]);
    let workspace = reserve(&settings(&server, ""));
    send(&workspace);
    let fewer = settings(&server, "").replace(&recipient(&address("later"), ""), "");
    resettle(&workspace, &fewer);
    let counts = retry(&workspace, "all");
    assert_eq!(
        (counts.get("sent"), counts.get("abandoned")),
        (Some(&5), Some(&1))
    );
}

#[test]
fn a_new_reader_gets_the_digest_that_the_others_have() {
    let server = Scripted::start();
    let workspace = reserve(&settings(&server, ""));
    send(&workspace);
    let more = settings(&server, "") + &recipient("new@skerrow.example", "");
    resettle(&workspace, &more);
    let (code, counts, said) = send(&workspace);
    assert_eq!((code, counts.get("sent")), (0, Some(&7)), "{said}");
    let on_a_line = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        on_a_line.contains("its 6 deliveries stand as they are; 1 new one is queued."),
        "{said}"
    );
    assert_eq!(server.taken().len(), 7);
}

#[test]
fn what_sending_needs_is_asked_for_first() {
    let nobody = reserve("");
    let said = nobody.run(&["digest", "--send"]).fails();
    assert!(
        said.contains("names nobody to send the digest to"),
        "{said}"
    );
    resettle(&nobody, &recipient("a@skerrow.example", ""));
    let said = nobody.run(&["digest", "--send"]).fails();
    assert!(said.contains("no [mail]"), "{said}");
    let server = Scripted::start();
    resettle(&nobody, &settings(&server, ""));
    let written = std::fs::read_to_string(nobody.path("wingtide.toml")).expect("settings");
    nobody.write("wingtide.toml", written.replace("from = ", "# from = "));
    let said = nobody.run(&["digest", "--send"]).fails();
    assert!(said.contains("[digest] has no from"), "{said}");
    assert!(server.taken().is_empty());
    let said = nobody.run(&["digest"]);
    assert_eq!(said.code, 2, "neither a folder nor --send: {}", said.err);
}
