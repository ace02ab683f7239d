//! The real counts: night migrants at two sites, spring and autumn, one row a bird.

use crate::places::{reference, shared};
use crate::program::Workspace;
use chrono::NaiveDate;
use forecast::series::{Count, CountSeries, Visit};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

/// One species at one site.
pub struct Counted {
    /// Site code.
    pub site: String,
    /// Genus and epithet.
    pub species: String,
    /// Counts on the site's visits.
    pub series: CountSeries,
}

/// All species of both sites; None where the data are absent.
pub fn read() -> Option<Vec<Counted>> {
    let visits = visits(&shared("data/night-migrants-visits.csv")?);
    let birds = birds(&shared("data/night-migrants-records.csv")?);
    let one = |((site, species), days): ((String, String), BTreeMap<NaiveDate, u32>)| {
        let visits = visits[&site].clone();
        let counts = visits.iter().map(|v| days.get(&v.date).copied());
        let counts = counts.map(|n| Count::Exactly(n.unwrap_or(0))).collect();
        let series = CountSeries::new(visits, counts).expect("visits in order");
        Counted {
            site,
            species,
            series,
        }
    };
    Some(birds.into_iter().map(one).collect())
}

/// The workspace that describes the tables, with the tables beside it; None where they are absent.
pub fn workspace() -> Option<Workspace> {
    let settings = std::fs::read(reference("night-migrants/wingtide.toml")).expect("settings");
    let mut workspace = Workspace::empty().with("wingtide.toml", settings);
    for (from, to) in [
        ("night-migrants-records.csv", "records.csv"),
        ("night-migrants-visits.csv", "visits.csv"),
        ("daily-temperature.csv", "temperature.csv"),
    ] {
        let table = std::fs::read(shared("data")?.join(from)).ok()?;
        workspace = workspace.with(to, table);
    }
    Some(workspace)
}

fn rows(path: &Path) -> Vec<csv::StringRecord> {
    let reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_path(path);
    let rows: Result<_, _> = reader.expect("the table opens").records().collect();
    rows.expect("the table is well formed")
}

fn date(text: &str) -> NaiveDate {
    text.parse().expect("an ISO date")
}

/// Dates visited, by site; a visit noted twice is one.
fn visits(path: &Path) -> BTreeMap<String, Arc<[Visit]>> {
    let mut dates: BTreeMap<String, BTreeSet<NaiveDate>> = BTreeMap::new();
    for row in rows(path) {
        dates
            .entry(row[1].to_owned())
            .or_default()
            .insert(date(&row[0]));
    }
    let visit = |date| Visit {
        date,
        log_effort_ratio: 0.0,
    };
    dates
        .into_iter()
        .map(|(site, days)| (site, days.into_iter().map(visit).collect()))
        .collect()
}

type Birds = BTreeMap<(String, String), BTreeMap<NaiveDate, u32>>;

/// Birds by site, species and date; some genera are written in lower case.
fn birds(path: &Path) -> Birds {
    let mut birds = Birds::new();
    for row in rows(path) {
        let mut genus = row[2].to_lowercase();
        genus[..1].make_ascii_uppercase();
        let species = format!("{genus} {}", row[3].to_lowercase());
        let days = birds.entry((row[1].to_owned(), species)).or_default();
        *days.entry(date(&row[0])).or_default() += 1;
    }
    birds
}
