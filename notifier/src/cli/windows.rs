//! `wingtide windows`

use super::args::Windows;
use super::session::{LoadedSite, Session};
use super::{Failure, Streams, print_json};
use config::settings::Site;
use forecast::fit::{DateEstimate, Passage, Verdict};
use serde::Serialize;
use std::path::Path;

/// One passage of one species at one site: the documented JSON.
#[derive(Debug, Serialize)]
struct Row<'a> {
    site: &'a str,
    species: &'a str,
    passage: forecast::fit::PassageName,
    verdict: Verdict,
    birds: u64,
    seasons: usize,
    watched_days: usize,
    arrival: Option<DateCell>,
    median: Option<DateCell>,
    peak: Option<DateCell>,
    departure: Option<DateCell>,
}

#[derive(Debug, Serialize)]
struct DateCell {
    day: String,
    known: [String; 2],
    any_year: Option<[String; 2]>,
}

impl From<DateEstimate> for DateCell {
    fn from(date: DateEstimate) -> Self {
        let cell = |position| forecast::calendar::MonthDay::of_position(position).to_string();
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
    }
}

/// Shows the passages of one site or of all.
pub fn run(dir: &Path, args: &Windows, streams: &mut Streams) -> Result<(), Failure> {
    let session = Session::open(dir)?;
    let sites: Vec<&Site> = match &args.site {
        Some(id) => vec![session.site(Some(id))?],
        None => session.workspace.sites.iter().collect(),
    };
    let loaded = sites.into_iter().map(|s| session.fitted_site(s)).collect::<Result<Vec<_>, _>>()?;
    if args.json {
        let rows: Vec<Row> = loaded
            .iter()
            .flat_map(|l| l.fits.iter().map(|(species, fit)| (l.site.id.as_str(), species, fit)))
            .flat_map(|(site, species, fit)| fit.passages.iter().map(move |p| row(site, species, p)))
            .collect();
        return print_json(&serde_json::to_value(rows)?, streams.out);
    }
    for site in &loaded {
        table(site, streams)?;
    }
    Ok(())
}

fn table(loaded: &LoadedSite, streams: &mut Streams) -> Result<(), Failure> {
    let view = loaded.view();
    writeln!(streams.out, "{} ({})", loaded.site.name, loaded.site.id)?;
    writeln!(
        streams.out,
        "  {:<24} {:<8} {:>6} {:>7}  {:<8} {:<8} {:<8}",
        "species", "passage", "birds", "seasons", "arrival", "median", "departs"
    )?;
    let mut quiet = Vec::new();
    for (species, fit) in &loaded.fits {
        let name = view.shown_name(species);
        for p in &fit.passages {
            if p.verdict == Verdict::TooFew {
                quiet.push(format!("{name} ({}, {} birds)", passage_word(p), p.birds));
                continue;
            }
            writeln!(
                streams.out,
                "  {:<24} {:<8} {:>6} {:>7}  {:<8} {:<8} {:<8}",
                clip(&name, 24),
                passage_word(p),
                p.birds,
                p.seasons,
                date_words(p.arrival, if p.begun_before_watch { "<" } else { "" }),
                date_words(p.median, ""),
                date_words(p.departure, if p.ends_after_watch { ">" } else { "" }),
            )?;
        }
    }
    if !quiet.is_empty() {
        writeln!(streams.out, "  Too few records for dates: {}.", quiet.join(", "))?;
    }
    writeln!(streams.out, "  ± is the half width of the 80 % interval of the long-term date, in days.")?;
    writeln!(streams.out, "  < already about when the watch begins; > still about when it ends.\n")?;
    Ok(())
}

fn passage_word(p: &Passage) -> String {
    serde_json::to_value(p.name).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

fn date_words(date: Option<DateEstimate>, sign: &str) -> String {
    date.map_or_else(
        || "-".to_owned(),
        |d| format!("{sign}{} ±{:.0}", d.month_day(), ((d.known.1 - d.known.0) / 2.0).max(1.0)),
    )
}

fn clip(text: &str, width: usize) -> String {
    text.chars().take(width).collect()
}
