//! The files of a demo, in memory.

use super::Span;
use super::counts::Record;
use super::truth::{TruePassage, Truth, day};
use super::visits::DrawnVisit;
use super::weather::Weather;
use super::writing;
use chrono::{Duration, NaiveDate};
use config::settings::Species;
use std::fmt::Write;
use std::io::ErrorKind;
use std::path::Path;

const WORKSPACE: &str = include_str!("wingtide.toml");
/// A common year followed by another, so that stays over New Year meet no leap day.
const COMMON_NEW_YEAR: NaiveDate = day(2022, 1, 1);
const README: &str = include_str!("README.txt");

/// The text of every file of a demo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DemoFiles {
    /// `README.txt`: that all is invented, how it was made and what to look for.
    pub readme: String,
    /// `wingtide.toml`: the workspace.
    pub workspace: String,
    /// `counts.csv`: a row for each species found on a visit, as untidy as people write.
    pub counts: String,
    /// `visits.csv`: every visit with its minutes.
    pub visits: String,
    /// `temperature.csv`: daily mean, deg C, from the year before the first.
    pub temperature: String,
    /// `truth.csv`: dates and numbers of an average season that the counts were drawn from.
    pub truth: String,
}

impl DemoFiles {
    /// Name and text of each file; the README, which tells a demo by its first line, first.
    pub fn named(&self) -> [(&'static str, &str); 6] {
        [
            ("README.txt", &self.readme),
            ("wingtide.toml", &self.workspace),
            ("counts.csv", &self.counts),
            ("visits.csv", &self.visits),
            ("temperature.csv", &self.temperature),
            ("truth.csv", &self.truth),
        ]
    }
}

/// The species that the demo lists, with the names that people know them by.
pub fn listed_species() -> Vec<Species> {
    let no_files = |_: &Path| Err(ErrorKind::NotFound.into());
    let workspace = config::parse(WORKSPACE, Path::new(""), no_files);
    // its settings are tested before they ship
    workspace.map_or_else(|_| Vec::new(), |workspace| workspace.species)
}

pub(super) fn render(
    truth: &Truth,
    seed: u64,
    span: Span,
    weather: &Weather,
    visits: &[DrawnVisit],
    records: &[Record],
) -> DemoFiles {
    DemoFiles {
        readme: README
            .replace("{seed}", &seed.to_string())
            .replace("{first}", &span.first.to_string())
            .replace("{last}", &span.last.to_string()),
        workspace: WORKSPACE.to_string(),
        counts: writing::counts(truth, seed, records),
        visits: visits_csv(truth, visits),
        temperature: temperature_csv(weather),
        truth: truth_csv(truth),
    }
}

fn visits_csv(truth: &Truth, visits: &[DrawnVisit]) -> String {
    let mut text = String::from("Date,Place,Minutes,Observer\n");
    for v in visits {
        let (place, observer) = (truth.sites[v.site].code, v.observer.initials());
        line(
            &mut text,
            format_args!("{},{place},{},{observer}", v.date, v.effort_min),
        );
    }
    text
}

fn temperature_csv(weather: &Weather) -> String {
    let mut text = String::from("date,mean_temperature_c\n");
    for (date, mean_c) in weather.days() {
        // Adding zero turns a rounded -0.0 into 0.0.
        let tenths = (mean_c * 10.0).round() / 10.0 + 0.0;
        line(&mut text, format_args!("{date},{tenths:.1}"));
    }
    text
}

fn truth_csv(truth: &Truth) -> String {
    let mut text = String::from(
        "species,site,season,arrival,median,departure,birds_a_season,days_a_decade,days_per_c\n",
    );
    for species in &truth.species {
        for passage in &species.passages {
            for (site, birds) in truth.sites.iter().zip(passage.birds) {
                if birds > 0.0 {
                    let start = format_args!("{},{}", species.scientific, site.id);
                    line(
                        &mut text,
                        format_args!("{start},{}", passage_fields(passage, birds)),
                    );
                }
            }
        }
    }
    text
}

fn passage_fields(passage: &TruePassage, birds: f64) -> String {
    let date = |part| {
        passage
            .shape
            .day_of_part(part)
            .map_or(String::new(), month_day)
    };
    format!(
        "{},{},{},{},{birds},{},{}",
        passage.season_word(),
        date(0.05),
        date(0.5),
        date(0.95),
        passage.trend_days_per_decade,
        passage.warmth.map_or(0.0, |w| w.days_per_c),
    )
}

/// The nearest date, read on common years.
fn month_day(day: f64) -> String {
    let date = COMMON_NEW_YEAR + Duration::days(day.round() as i64 - 1);
    date.format("%m-%d").to_string()
}

/// Adds a line. Writing to a string cannot fail, so the result holds nothing to act on.
pub(super) fn line(text: &mut String, line: std::fmt::Arguments<'_>) {
    let _ = writeln!(text, "{line}");
}
