//! The small reserve with its subscribers' pages, on a clock that tests move.

use crate::deliveries::fixture::reserve;
use chrono::{DateTime, Utc};
use harness::program::Workspace;
use harness::router::{Answer, Asked};
use harness::scripted::Scripted;
use mail_parser::MessageParser;
use notifier::service::deliver::Clock;
use notifier::service::outgoing::Channels;
use notifier::service::tables;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::{Duration, Instant};

/// Where readers reach the service.
pub const SERVICE: &str =
    "\n[service]\npublic_url = \"https://birds.skerrow.example/ness\"\nsubscribe = true\n";

pub struct Scene {
    pub workspace: Workspace,
    pub pages: Asked,
    now: Arc<AtomicI64>,
}

impl Scene {
    /// With a mail server's settings, and more.
    pub fn new(mail: &str, more: &str) -> Self {
        Self::of(reserve(&format!("{SERVICE}{mail}{more}")))
    }

    pub fn of(workspace: Workspace) -> Self {
        let now = Arc::new(AtomicI64::new(Utc::now().timestamp()));
        let hand = Arc::clone(&now);
        let clock: Clock = Arc::new(move || {
            DateTime::from_timestamp(hand.load(Ordering::Relaxed), 0).expect("an instant")
        });
        let settings = config::load(&workspace.path("")).expect("settings");
        let dir = workspace.path("");
        Scene {
            pages: Asked::new(move || Channels::pages(&dir, &settings, &clock)),
            workspace,
            now,
        }
    }

    /// A mail server that does as it is told beside it.
    pub fn scripted() -> (Self, Scripted) {
        let server = Scripted::start();
        (Self::new(&server.settings(""), ""), server)
    }

    /// Moves the clock.
    pub fn later(&self, seconds: i64) {
        self.now.fetch_add(seconds, Ordering::Relaxed);
    }

    /// Puts an address down, with these choices.
    pub fn subscribes(&self, mail: &str, choices: &[(&str, &str)]) -> Answer {
        let code = self.pages.get("/subscribe").form();
        let own = [("form", code.as_str()), ("mail", mail)];
        self.pages.post("/subscribe", &[&own, choices].concat())
    }

    /// Opens the page behind a link and presses its (first) button.
    pub fn presses(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let code = self.pages.get(path).form();
        self.pages
            .post(path, &[&[("form", code.as_str())], fields].concat())
    }

    /// Puts an address down and confirms it; gives the path of its choices.
    pub fn on_the_list(&self, server: &Scripted, mail: &str, choices: &[(&str, &str)]) -> String {
        let before = server.mails().len();
        assert_eq!(self.subscribes(mail, choices).code, 303);
        let letter = mails(server, before + 1).remove(before);
        let done = self.presses(&path_in(&letter.1, "confirm"), &[]);
        assert_eq!(done.code, 200, "{}", done.body);
        let (_, rest) = done.body.split_once("href=\"../choices/").expect("a link");
        format!("/choices/{}", rest.split('"').next().expect("its token"))
    }

    /// `digest --send` of that date; gives what it said.
    pub fn sends(&self, date: &str) -> String {
        let ran = self.workspace.run(&["digest", "--send", "--date", date]);
        assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
        ran.out + &ran.err
    }

    /// One number out of the tables.
    pub fn counts(&self, sql: &str) -> i64 {
        let conn = tables::open(&self.workspace.path("")).expect("tables");
        conn.query_row(sql, [], |row| row.get(0)).expect("a number")
    }
}

/// Mails that the server took, once there are so many.
pub fn mails(server: &Scripted, number: usize) -> Vec<(String, String)> {
    let patience = Instant::now() + Duration::from_secs(60);
    loop {
        let taken = server.mails();
        if taken.len() >= number {
            return taken;
        }
        assert!(
            Instant::now() < patience,
            "{} of {number} mails",
            taken.len()
        );
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// A mail's text.
pub fn text(mail: &[u8]) -> String {
    let mail = MessageParser::default().parse(mail).expect("a mail");
    mail.body_text(0).expect("its text").into_owned()
}

/// The path, within the service, of the link to such a page in a mail.
pub fn path_in(mail: &str, page: &str) -> String {
    let text = text(mail.as_bytes());
    let link = format!("https://birds.skerrow.example/ness/{page}/");
    let (_, rest) = text
        .split_once(&link)
        .unwrap_or_else(|| panic!("no {page} in {text}"));
    let token = rest.split_whitespace().next().expect("a token");
    format!("/{page}/{token}")
}
