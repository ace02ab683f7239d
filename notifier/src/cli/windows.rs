//! `wingtide windows`

use super::args::Windows;
use super::session::{LoadedSite, Session};
use super::{Failure, Streams, print_json};
use crate::columns::{self, wrap};
use crate::findings::{changes, few, passage, temperature};
use crate::windows::{self, in_order};
use crate::words::count_of;
use config::settings::Site;
use forecast::fit::{DateEstimate, Passage, PassageName, Verdict};
use std::path::Path;

/// Shows the passages of one site or of all.
pub fn run(dir: &Path, args: &Windows, streams: &mut Streams) -> Result<(), Failure> {
    let session = Session::open(dir)?;
    let sites: Vec<&Site> = match &args.site {
        Some(id) => vec![session.site(Some(id))?],
        None => session.workspace.sites.iter().collect(),
    };
    let loaded = sites
        .into_iter()
        .map(|s| session.fitted_site(s))
        .collect::<Result<Vec<_>, _>>()?;
    for site in &loaded {
        site.warn(streams.err)?;
    }
    if args.json {
        let rows = loaded.iter();
        let rows: Vec<_> = rows
            .flat_map(|l| windows::rows(&l.site.id, &l.fits))
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
    let mut rows = vec![HEADINGS.map(str::to_owned)];
    let mut quiet = Vec::new();
    for (species, fit) in &loaded.fits {
        let name = view.shown_name(species);
        for p in in_order(&fit.passages) {
            match p.verdict {
                Verdict::TooFew => quiet.push(too_few(&name, p)),
                _ => rows.push(cells(&name, p)),
            }
        }
    }
    writeln!(streams.out, "{} ({})", loaded.site.name, loaded.site.id)?;
    match rows.len() {
        1 if quiet.is_empty() => say("No bird has been counted here.", streams)?,
        1 => say("No species has records enough for dates.", streams)?,
        _ => dated(&rows, streams)?,
    }
    if !quiet.is_empty() {
        let few = "Too few records for a curve; first and last dates instead, where \"about\" is \
                   an estimate of where the season may begin or end beyond the records:";
        listed(&[few.to_owned()], &quiet, streams)?;
    }
    if rows.len() > 1 {
        years(loaded, streams)?;
    }
    writeln!(streams.out)?;
    Ok(())
}

const HEADINGS: [&str; 6] = [
    "species, passage",
    "birds",
    "seasons",
    "arrival",
    "median",
    "departure",
];

/// The table with what its signs mean.
fn dated(rows: &[[String; 6]], streams: &mut Streams) -> Result<(), Failure> {
    for line in columns::table(rows, (0, &[1, 2]), "  ", streams.width) {
        writeln!(streams.out, "{line}")?;
    }
    say(
        "± are half widths of 80 % intervals in days: how well the long-term date is known / where \
         it falls in any one year.",
        streams,
    )?;
    say(
        "< already about when the watch begins; > still about when it ends.",
        streams,
    )
}

/// What the years say of temperature and of long-term change.
fn years(loaded: &LoadedSite, streams: &mut Streams) -> Result<(), Failure> {
    let view = loaded.view();
    let name = |species: &str| view.shown_name(species);
    let known = loaded.temperature.is_some();
    for told in [
        temperature::of_site(loaded.fits.iter(), known, name),
        changes::of_site(loaded.fits.iter(), name),
    ] {
        let (summary, found) = told.split_at(told.len().min(1));
        listed(summary, found, streams)?;
    }
    Ok(())
}

fn say(text: &str, streams: &mut Streams) -> Result<(), Failure> {
    writeln!(streams.out, "{}", wrap(text, "  ", "    ", streams.width))?;
    Ok(())
}

fn listed(summary: &[String], items: &[String], streams: &mut Streams) -> Result<(), Failure> {
    summary.iter().try_for_each(|text| say(text, streams))?;
    for item in items {
        writeln!(
            streams.out,
            "{}",
            wrap(item, "    - ", "      ", streams.width)
        )?;
    }
    Ok(())
}

fn cells(name: &str, p: &Passage) -> [String; 6] {
    [
        format!("{name}, {}", passage(p.name)),
        p.birds.to_string(),
        p.seasons.to_string(),
        date_words(p.arrival, if p.begun_before_watch { "<" } else { "" }),
        date_words(p.median, ""),
        date_words(p.departure, if p.ends_after_watch { ">" } else { "" }),
    ]
}

fn too_few(name: &str, p: &Passage) -> String {
    let birds = count_of(p.birds as usize, "bird", "birds");
    let who = match p.name {
        PassageName::AllYear => format!("{name} ({birds})"),
        season => format!("{name}, {} ({birds})", passage(season)),
    };
    match few::first_and_last(&p.records) {
        Some(dates) => format!("{who}: {dates}."),
        None => format!("{who}."),
    }
}

fn date_words(date: Option<DateEstimate>, sign: &str) -> String {
    let half = |(low, high): (f64, f64)| ((high - low) / 2.0).max(1.0);
    date.map_or_else(
        || "-".to_owned(),
        |d| {
            let any_year = d
                .any_year
                .map_or_else(|| "?".to_owned(), |w| format!("{:.0}", half(w)));
            format!("{sign}{} ±{:.0}/{any_year}", d.month_day(), half(d.known))
        },
    )
}
