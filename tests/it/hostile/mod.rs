//! Inputs made to do harm, by the table of their names: each is refused or harmless, and what is logged of
//! them holds no secret and nobody's address.

mod bounds;
mod names;
mod table;
mod withheld;

use crate::subscriptions::scene::{Scene, mails, path_in};
use axum::body::Body;
use axum::http::Request;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use harness::listened::{heard, listen};
use harness::router::Answer;
use harness::scripted::Scripted;
use ingest::fetch::{NotTaken, Poster};
use notifier::deliveries::key::StoreKey;
use notifier::subscribers::link::{Claim, Purpose, token};
use std::collections::BTreeSet;
use std::time::Duration;
use table::{Attack, Forgery, ROWS, Sent};
use url::Url;

#[test]
fn the_table_is_long_and_names_each_row_once() {
    let names: BTreeSet<&str> = ROWS.iter().map(|(name, _)| *name).collect();
    assert_eq!(names.len(), ROWS.len());
    assert!(ROWS.len() >= 60);
}

/// Nothing of what was sent stands in an answer but as text.
fn is_harmless(name: &str, answer: &Answer) {
    for bad in [
        "<script>alert",
        "<img src=x",
        "root:x:",
        "DROP TABLE",
        ">49<",
    ] {
        assert!(!answer.body.contains(bad), "{name}: {}", answer.body);
    }
    for field in ["set-cookie", "x-evil", "bcc"] {
        assert_eq!(answer.header(field), "", "{name}");
    }
    let policy = answer.header("content-security-policy");
    assert!(
        policy.is_empty() || policy.starts_with("default-src 'none'"),
        "{name}: {policy}"
    );
}

#[test]
fn addresses_and_choices_made_to_do_harm_are_refused() {
    listen();
    let (scene, server) = Scene::scripted();
    for (name, attack) in ROWS {
        let (mail, more) = match attack {
            Attack::Address(mail) => (*mail, None),
            Attack::Choice(field, value) => {
                ("hostile-choice@skerrow.example", Some((*field, *value)))
            }
            _ => continue,
        };
        let answer = scene.subscribes(mail, more.as_slice());
        assert_eq!(answer.code, 422, "{name}: {}", answer.body);
        is_harmless(name, &answer);
        let sent = more.map_or(mail, |(_, value)| value);
        assert!(!answer.body.contains(sent), "{name} is repeated");
        assert!(!heard().contains(sent), "{name} is logged");
    }
    assert_eq!(scene.counts("SELECT count(*) FROM readers"), 0);
    assert_eq!(scene.counts("SELECT count(*) FROM letters"), 0);
    assert!(server.mails().is_empty());
}

/// Two readers who wait, one on the list; their links.
struct Readers {
    scene: Scene,
    _server: Scripted,
    confirm: String,
    used: String,
    choices: String,
}

fn readers() -> Readers {
    let (scene, server) = Scene::scripted();
    let choices = scene.on_the_list(&server, "hostile-anna@skerrow.example", &[]);
    let used = path_in(&server.mails()[0].1, "confirm");
    scene.subscribes("hostile-bo@skerrow.example", &[]);
    let confirm = path_in(&mails(&server, 2)[1].1, "confirm");
    Readers {
        scene,
        _server: server,
        confirm,
        used,
        choices,
    }
}

impl Readers {
    /// A made-up path, and the status that it gets.
    fn forged(&self, forgery: Forgery) -> (String, u16) {
        let good = self.confirm.rsplit('/').next().expect("a token");
        let bytes = URL_SAFE_NO_PAD.decode(good).expect("base64");
        let bent = |change: &dyn Fn(&mut Vec<u8>)| {
            let mut bytes = bytes.clone();
            change(&mut bytes);
            format!("/confirm/{}", URL_SAFE_NO_PAD.encode(bytes))
        };
        let path = match forgery {
            Forgery::Cut => format!("/confirm/{}", &good[..good.len() - 1]),
            Forgery::Lengthened => format!("/confirm/{good}AAAA"),
            Forgery::BitTurned => bent(&|b| *b.last_mut().expect("a byte") ^= 1),
            Forgery::OtherReader => bent(&|b| b[3] ^= 3),
            Forgery::LaterEnd => bent(&|b| b[5] ^= 1),
            Forgery::ZeroCode => bent(&|b| b[8..].fill(0)),
            Forgery::OtherPurpose => format!("/choices/{good}"),
            Forgery::OtherKey => self.of_other_key(),
            Forgery::Ended => return (self.ended(), 410),
            Forgery::Used => self.used.clone(),
            Forgery::Written(text) => format!("/confirm/{text}"),
        };
        (path, 404)
    }

    /// As somebody makes it who knows all but the key.
    fn of_other_key(&self) -> String {
        let other = tempfile::tempdir().expect("a folder");
        let key = StoreKey::open(other.path()).expect("a key");
        let claim = Claim {
            reader: 1,
            ends: 4_000_000_000,
        };
        let bound = ["hostile-anna@skerrow.example"];
        format!("/choices/{}", token(&key, Purpose::Choices, claim, &bound))
    }

    /// The store's own, made long ago.
    fn ended(&self) -> String {
        let key = StoreKey::open(&self.scene.workspace.path("")).expect("a key");
        let claim = Claim {
            reader: 1,
            ends: 1_000_000_000,
        };
        let bound = ["hostile-anna@skerrow.example"];
        format!("/choices/{}", token(&key, Purpose::Choices, claim, &bound))
    }

    fn state(&self) -> (i64, i64) {
        let confirmed = "SELECT count(*) FROM subscribers WHERE confirmed_at IS NOT NULL";
        let away = "SELECT count(*) FROM readers WHERE state != 'reads'";
        (self.scene.counts(confirmed), self.scene.counts(away))
    }

    /// All that must not stand in a log.
    fn secrets(&self) -> Vec<String> {
        let key = self
            .scene
            .workspace
            .path(ingest::STORE_FOLDER)
            .join("deliveries.key");
        let key = std::fs::read_to_string(key)
            .expect("the key")
            .trim()
            .to_owned();
        let links = [&self.confirm, &self.used, &self.choices];
        let tokens = links.map(|path| path.rsplit('/').next().expect("a token").to_owned());
        let addresses = ["hostile-anna@", "hostile-bo@", "hostile-choice@"].map(str::to_owned);
        [vec![key], tokens.into(), addresses.into()].concat()
    }
}

#[test]
fn forged_links_open_nothing() {
    listen();
    let readers = readers();
    let before = readers.state();
    let code = readers.scene.pages.get(&readers.confirm).form();
    let mut tried = 0;
    for (name, attack) in ROWS {
        let Attack::Link(forgery) = attack else {
            continue;
        };
        let (path, expected) = readers.forged(*forgery);
        let looked = readers.scene.pages.get(&path);
        let pressed = readers
            .scene
            .pages
            .post(&path, &[("form", &code), ("wish", "leave")]);
        for answer in [looked, pressed] {
            let code = answer.code.as_u16();
            // a path that is no UTF-8 is none at all
            assert!(
                code == expected || (code == 400 && name.contains("Unicode")),
                "{name}: {code}"
            );
            is_harmless(name, &answer);
            assert!(!answer.body.contains("hostile-"), "{name} tells an address");
        }
        assert_eq!(readers.state(), before, "{name}");
        tried += 1;
    }
    assert!(tried >= 15);
    is_silent(&readers);
}

#[test]
fn forms_that_are_not_ours_change_nothing() {
    listen();
    let readers = readers();
    let (scene, path) = (&readers.scene, readers.choices.as_str());
    let before = readers.state();
    let old = scene.pages.get(path).form();
    scene.later(25 * 3600);
    let other = scene.pages.get("/subscribe").form();
    let code = scene.pages.get(path).form();
    let host = ("host", "birds.skerrow.example");
    for (name, attack) in ROWS {
        let Attack::Form(sent) = attack else { continue };
        let wish = ("wish", "leave");
        let with = |code: &str, head: &[(&str, &str)]| {
            scene
                .pages
                .post_with(path, &[("form", code), wish], &[&[host], head].concat())
        };
        let answer = match *sent {
            Sent::WithoutCode => scene.pages.post(path, &[wish]),
            Sent::WithOtherCode => with(&other, &[]),
            Sent::WithOldCode => with(&old, &[]),
            Sent::FromOrigin(origin) => with(&code, &[("origin", origin)]),
            Sent::FromSite(site) => with(&code, &[("sec-fetch-site", site)]),
            Sent::As(kind) => {
                let body = Body::from(format!("form={code}&wish=leave"));
                let request = Request::post(path).header("content-type", kind);
                scene.pages.ask(request.body(body).expect("a request"))
            }
        };
        assert_eq!(answer.code, 403, "{name}: {}", answer.body);
        assert_eq!(readers.state(), before, "{name}");
    }
    // and the same form as it should be does what it says
    assert_eq!(
        scene
            .pages
            .post(path, &[("form", &code), ("wish", "leave")])
            .code,
        303
    );
    assert_ne!(readers.state(), before);
    is_silent(&readers);
}

fn is_silent(readers: &Readers) {
    let heard = heard();
    for secret in readers.secrets() {
        assert!(!heard.contains(&secret), "{secret} is logged");
    }
}

#[test]
fn nothing_leads_elsewhere() {
    let readers = readers();
    let (scene, path) = (&readers.scene, readers.choices.as_str());
    let code = scene.pages.get(path).form();
    let to = "https://other.example/";
    let own = [
        ("form", code.as_str()),
        ("wish", "pause"),
        ("next", to),
        ("said", to),
    ];
    let answer = scene
        .pages
        .post_with(path, &own, &[("host", "other.example")]);
    assert_eq!(
        (answer.code.as_u16(), answer.header("location")),
        (303, "?said=paused")
    );
    let page = scene.pages.get(&format!("{path}?said={to}&next={to}"));
    assert!(!page.body.contains("other.example"), "{}", page.body);
    // whoever asks, links in mails lead to the address of the settings
    let code = scene.pages.get("/subscribe").form();
    let own = [
        ("form", code.as_str()),
        ("mail", "hostile-carl@skerrow.example"),
    ];
    let head = [
        ("host", "other.example"),
        ("x-forwarded-host", "other.example"),
    ];
    scene.pages.post_with("/subscribe", &own, &head);
    let letter = mails(&readers._server, 3).remove(2).1;
    assert!(!letter.contains("other.example"), "{letter}");
}

#[test]
fn webhooks_reach_no_private_address() {
    let poster = Poster::new(Duration::from_secs(5), false).expect("a client");
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    let runtime = runtime.expect("a runtime");
    let mut tried = 0;
    for (name, attack) in ROWS {
        let Attack::Url(url) = attack else { continue };
        let url = Url::parse(url).expect("an address");
        let posted = poster.post(&url, &[], b"a digest".to_vec(), chrono::Utc::now());
        match runtime.block_on(posted) {
            Err(NotTaken::ForGood { why }) => {
                assert!(
                    why.contains("private") || why.contains("this machine"),
                    "{name}: {why}"
                );
            }
            other => panic!("{name}: {other:?}"),
        }
        tried += 1;
    }
    assert!(tried >= 18);
}
