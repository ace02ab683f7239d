//! How the counters write their counts down: a spreadsheet as untidy as those of real people.

use super::counts::Record;
use super::files::line;
use super::random::{Purpose, happens, stream};
use super::truth::Truth;
use super::visits::Observer;
use rand::Rng;
use rand_pcg::Pcg64;

/// The record, counted from 0 among those of its species, whose name is misspelt.
const MISSPELT: (&str, usize, &str) = ("Phylloscopus trochilus", 40, "Phylloscopus trochillus");

/// A flock that nobody counts bird by bird.
const FLOCK: u32 = 20;

/// Chance that a large flock is rounded to tens by the one who likes to.
const ABOUT: f64 = 0.35;
/// Chance that a large flock is given as at least so many.
const AT_LEAST: f64 = 0.04;
/// Chance that one to three birds are only ticked, by the one who does so.
const TICKED: f64 = 0.04;
/// Chance of a stray space in a name.
const STRAY_SPACE: f64 = 0.06;

/// The text of `counts.csv`. No field holds a separator or a quotation mark.
pub(super) fn counts(truth: &Truth, seed: u64, records: &[Record]) -> String {
    let mut rng = stream(seed, Purpose::Writing);
    let mut text = String::from("Date;Place;Species;Number;Observer\n");
    let mut seen_of_misspelt = 0;
    for record in records {
        let visit = &record.visit;
        let mut name = species_as_written(&mut rng, truth, record);
        if truth.species[record.species].scientific == MISSPELT.0 {
            if seen_of_misspelt == MISSPELT.1 {
                name = MISSPELT.2.to_string();
            }
            seen_of_misspelt += 1;
        }
        let number = number_as_written(&mut rng, visit.observer, record.birds);
        let (place, observer) = (truth.sites[visit.site].code, visit.observer.initials());
        line(
            &mut text,
            format_args!("{};{place};{name};{number};{observer}", visit.date),
        );
    }
    text
}

fn species_as_written(rng: &mut Pcg64, truth: &Truth, record: &Record) -> String {
    let species = &truth.species[record.species];
    match record.visit.observer {
        Observer::Fenwick => species.english.to_string(),
        Observer::Tidewell => {
            let name = if rng.random() {
                species.scientific.to_lowercase()
            } else {
                species.scientific.to_string()
            };
            if happens(rng, STRAY_SPACE) {
                with_stray_space(rng, &name)
            } else {
                name
            }
        }
        Observer::Warden | Observer::Saltmarsh => species.scientific.to_string(),
    }
}

fn with_stray_space(rng: &mut Pcg64, name: &str) -> String {
    match rng.random_range(0..3) {
        0 => format!(" {name}"),
        1 => format!("{name} "),
        _ => name.replace(' ', "  "),
    }
}

fn number_as_written(rng: &mut Pcg64, observer: Observer, birds: u32) -> String {
    let tens = birds / 10 * 10;
    if observer == Observer::Tidewell && birds <= 3 && happens(rng, TICKED) {
        "x".to_string()
    } else if observer == Observer::Saltmarsh && birds >= FLOCK && happens(rng, ABOUT) {
        format!("c. {}", (birds + 5) / 10 * 10)
    } else if birds >= FLOCK && happens(rng, AT_LEAST) {
        format!("{tens}+")
    } else {
        birds.to_string()
    }
}
