//! The passages of species at a site as rows: what `windows` prints for other programs, and what
//! they get from the service.

use crate::findings::json;
use forecast::calendar::{DAYS, MonthDay};
use forecast::fit::{DateEstimate, Passage, PassageName, SpeciesFit, Verdict};
use forecast::season::change_called;
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// One passage of one species at one site: the documented JSON.
#[derive(Debug, Serialize)]
pub struct Row<'a> {
    site: &'a str,
    species: &'a str,
    passage: PassageName,
    verdict: Verdict,
    birds: u64,
    seasons: usize,
    watched_days: usize,
    arrival: Option<DateCell>,
    median: Option<DateCell>,
    peak: Option<DateCell>,
    departure: Option<DateCell>,
    temperature: Option<Value>,
    change: Option<Value>,
    records: Vec<Value>,
}

#[derive(Debug, Serialize)]
struct DateCell {
    day: String,
    known: [String; 2],
    any_year: Option<[String; 2]>,
}

impl From<DateEstimate> for DateCell {
    fn from(date: DateEstimate) -> Self {
        let cell = |position| MonthDay::of_position(position).to_string();
        DateCell {
            day: cell(date.day),
            known: [cell(date.known.0), cell(date.known.1)],
            any_year: date.any_year.map(|(a, b)| [cell(a), cell(b)]),
        }
    }
}

fn row<'a>(site: &'a str, species: &'a str, p: &Passage) -> Row<'a> {
    Row {
        site,
        species,
        passage: p.name,
        verdict: p.verdict,
        birds: p.birds,
        seasons: p.seasons,
        watched_days: p.watched_days,
        arrival: p.arrival.map(DateCell::from),
        median: p.median.map(DateCell::from),
        peak: p.peak.map(DateCell::from),
        departure: p.departure.map(DateCell::from),
        temperature: p.temperature.as_ref().map(json::temperature),
        change: change_called(p).as_ref().map(json::change),
        records: json::records(&p.records),
    }
}

/// The rows of a site, by the names of species and in the order of the year.
pub fn rows<'a>(
    site: &'a str,
    fits: &'a BTreeMap<String, SpeciesFit>,
) -> impl Iterator<Item = Row<'a>> {
    fits.iter().flat_map(move |(species, fit)| {
        let passages = in_order(&fit.passages).into_iter();
        passages.map(move |p| row(site, species, p))
    })
}

/// The passages in the order of the year, whichever day the year was cut on.
pub fn in_order(passages: &[Passage]) -> Vec<&Passage> {
    let year = DAYS as f64;
    let middle = |p: &&Passage| {
        let (first, last) = (f64::from(p.stretch.0), f64::from(p.stretch.1));
        let of_stretch = first + (last - first).rem_euclid(year) / 2.0;
        p.median.map_or(of_stretch, |d| d.day).rem_euclid(year)
    };
    let mut passages: Vec<&Passage> = passages.iter().collect();
    passages.sort_by(|a, b| middle(a).total_cmp(&middle(b)));
    passages
}
