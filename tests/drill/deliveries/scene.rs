//! A reserve with many readers, and a mail server that does not make it easy.

use crate::program::{Place, Program};
use chrono::{Days, NaiveDate};
use harness::reserve::{counts, settings};
use harness::scripted::{Deed, Scripted};
use serde_json::Value;
use std::collections::BTreeMap;

/// Sessions that are open at a time.
pub const SESSIONS: usize = 10;

const SITE: [(&str, &str); 1] = [("long-bank", "Long Bank")];

/// What was found of a digest.
#[derive(Debug, Default, Clone, Copy)]
pub struct Found {
    /// Copies beyond the first.
    pub twice: usize,
    /// Times that a row says that its mail may have arrived twice.
    pub in_doubt: usize,
    /// Readers who are refused for good.
    pub refused: usize,
}

/// Readers and their server.
pub struct Scene {
    pub server: Scripted,
    pub readers: usize,
    digests: u64,
}

/// How the server takes the mail of a digest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weather {
    /// It refuses some for good, puts some off, hangs up within others.
    Rough,
    /// All that, and it stalls, and hangs up before a word is said.
    Foul,
}

impl Scene {
    pub fn new(readers: usize) -> Self {
        Scene {
            server: Scripted::start(),
            readers,
            digests: 0,
        }
    }

    /// The reserve in a folder, loaded and fitted.
    pub fn build(&self, program: &Program, place: &Place, timeout_s: u32) {
        let at = |name: &str| place.workspace().join(name);
        std::fs::write(at("counts.csv"), counts(&SITE)).expect("written");
        std::fs::write(at("wingtide.toml"), self.settings(timeout_s)).expect("written");
        for command in ["load", "fit"] {
            let ran = program.run(place, &[command]);
            assert!(ran.worked, "{}", ran.err);
        }
    }

    pub fn settings(&self, timeout_s: u32) -> String {
        let mail = format!("sessions = {SESSIONS}\ntimeout_s = {timeout_s}");
        let readers =
            (0..self.readers).map(|i| format!("[[recipient]]\nmail = \"{}\"\n", reader(i)));
        settings(&SITE) + &self.server.settings(&mail) + &readers.collect::<String>()
    }

    /// The date of a digest that was not sent yet, and the server made ready for it.
    pub fn next(&mut self, weather: Weather) -> String {
        self.digests += 1;
        self.server.forget();
        let foul = weather == Weather::Foul;
        self.server.hangs_up_on_every(foul.then_some(7));
        for i in 0..self.readers {
            let deeds: &[Deed] = match i % 50 {
                7 => &[Deed::Rcpt("550 5.7.1 not to this one"); 40],
                13 => &[Deed::Rcpt("451 4.7.1 greylisted")],
                19 => &[Deed::GoWithin],
                29 => &[
                    Deed::End("452 4.3.1 no room"),
                    Deed::End("451 4.3.0 not yet"),
                ],
                37 if foul => &[Deed::Stall],
                _ => continue,
            };
            self.server.does(&reader(i), deeds);
        }
        let first = NaiveDate::from_ymd_opt(2025, 1, 1).expect("a date");
        (first + Days::new(7 * self.digests)).to_string()
    }

    /// Tries until nothing waits, as a keeper does who does not want to wait.
    pub fn to_the_end(&self, program: &Program, place: &Place) {
        for _ in 0..60 {
            let ran = program.run(place, &["deliveries", "--retry", "waiting"]);
            if !ran.out.contains("waiting") && !ran.out.contains("sending") {
                return;
            }
        }
        panic!("something waits for ever");
    }

    /// Holds what arrived against what was to be sent.
    pub fn hold(&self, program: &Program, place: &Place) -> Found {
        let listed = program.run(place, &["deliveries", "--json", "--addresses"]);
        let listed: Value = serde_json::from_str(&listed.out).expect("JSON");
        let rows = listed["digests"][0]["deliveries"].as_array().expect("rows");
        assert_eq!(rows.len(), self.readers);
        let mut copies: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (reader, id) in self.server.taken() {
            copies.entry(reader).or_default().push(id);
        }
        let mut found = Found::default();
        for row in rows {
            let name = row["recipient"].as_str().expect("a recipient");
            let arrived = copies.get(name).map_or(&[][..], Vec::as_slice);
            found.in_doubt += row["in_doubt"].as_u64().expect("a number") as usize;
            match row["state"].as_str() {
                Some("sent") => assert!(!arrived.is_empty(), "{row} did not arrive"),
                Some("refused") => {
                    assert!(arrived.is_empty() && name.contains("-x"), "{row}");
                    found.refused += 1;
                }
                _ => panic!("{row} is left pending"),
            }
            assert!(
                arrived.iter().all(|id| *id == arrived[0]),
                "{name}: {arrived:?}"
            );
            found.twice += arrived.len().saturating_sub(1);
        }
        assert_eq!(
            found.refused,
            (0..self.readers).filter(|i| i % 50 == 7).count()
        );
        assert!(
            found.twice <= found.in_doubt,
            "a second copy that is not told of: {found:?}"
        );
        found
    }
}

/// Those with an x are refused for good.
fn reader(i: usize) -> String {
    let mark = if i % 50 == 7 { "-x" } else { "" };
    format!("reader-{i}{mark}@skerrow.example")
}
