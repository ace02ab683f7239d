//! What a person reads when `wingtide.toml` is wrong: one exact sentence a problem.

mod places_and_species;
mod sources;
mod the_rest;

use std::io;
use std::path::Path;

const BASE: &str = r#"[workspace]
name = "Skerrow Ness"
language = "en"
visits_assumed = 3
[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54.63
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"
standard_effort = 60
cuts = { "Calidris alpina" = ["01-20", "06-20"] }
[[site]]
id = "tern-lagoon"
name = "Tern Lagoon"
latitude = 54.6
longitude = -0.4
time_zone = "Europe/London"
region = "western-palearctic"
[[species]]
scientific = "Calidris minuta"
names = { en = "Little Stint", de = "Zwergstrandläufer" }
also = ["Lit Stint"]
[[species]]
scientific = "Calidris alpina"
names = { en = "Dunlin" }
[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
site_names = { "LB" = "long-bank" }
columns = { date = "Date", site = "Place", species = "Species", count = "Number" }
[source.tokens]
present = ["x"]
[[source]]
id = "temperature"
kind = "temperature"
file = "temperature.csv"
date_order = "day-month-year"
columns = { date = "date", mean_c = "mean_c" }
[look_alikes]
use = ["small-sandpipers", "pale-terns"]
[[look_alikes.set]]
id = "dunes"
title = "Dunes"
members = ["Oenanthe oenanthe", "Plectrophenax nivalis"]
[digest]
sites = ["long-bank"]
from = "Wingtide <counts@skerrow.example>"
stale_after_days = 21
"#;

fn parse(text: &str) -> Result<config::settings::Workspace, config::ConfigError> {
    config::parse(text, Path::new("/reserve"), |_: &Path| {
        Err(io::ErrorKind::NotFound.into())
    })
}

fn said_of(text: &str) -> String {
    match parse(text) {
        Ok(_) => "nothing".to_owned(),
        Err(e) => e.to_string(),
    }
}

#[test]
fn the_base_is_right() {
    assert_eq!(said_of(BASE), "nothing");
}

/// What stands in BASE, what a person wrote instead, and what they read.
type Wrong = (&'static str, &'static str, &'static str);

#[test]
fn every_wrong_setting_is_told_in_one_sentence() {
    let mut wrong = Vec::new();
    let all = [places_and_species::WRONG, sources::WRONG, the_rest::WRONG];
    for (right, written, expected) in all.concat() {
        assert!(BASE.contains(right), "{right:?} does not stand in the base");
        let said = said_of(&BASE.replacen(right, written, 1));
        if said != expected {
            wrong.push(format!(
                "{written}\n  said:     {said}\n  expected: {expected}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
