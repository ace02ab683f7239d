//! The real counts: night migrants at two sites, a row a bird, and the walks made.

use chrono::NaiveDate;
use forecast::series::{Count, CountSeries, Visit};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

pub type Fault = Box<dyn std::error::Error + Send + Sync>;

/// One site's counts.
pub struct Site {
    pub visits: Arc<[Visit]>,
    pub series: Vec<CountSeries>,
    /// For each species, those of its look-alike sets, itself among them.
    pub relatives: Vec<Vec<usize>>,
}

/// Look-alike sets, those of `tests/reference/night-migrants/wingtide.toml`.
const SETS: [&[&str]; 6] = [
    &[
        "Catharus guttatus",
        "Catharus ustulatus",
        "Catharus minimus",
        "Catharus fuscescens",
    ],
    &["Melospiza melodia", "Melospiza lincolnii"],
    &["Zonotrichia albicollis", "Zonotrichia leucophrys"],
    &["Setophaga striata", "Setophaga castanea"],
    &["Regulus satrapa", "Regulus calendula"],
    &["Troglodytes hiemalis", "Troglodytes aedon"],
];

/// Reads both tables of a folder.
pub fn read(folder: &Path) -> Result<Vec<Site>, Fault> {
    let mut visits: BTreeMap<String, BTreeSet<NaiveDate>> = BTreeMap::new();
    for row in rows(&folder.join("night-migrants-visits.csv"))? {
        visits
            .entry(row[1].to_owned())
            .or_default()
            .insert(date(&row[0])?);
    }
    let mut birds: BTreeMap<String, BTreeMap<String, BTreeMap<NaiveDate, u32>>> = BTreeMap::new();
    for row in rows(&folder.join("night-migrants-records.csv"))? {
        let genus = row[2].to_lowercase();
        let (first, rest) = genus.split_at(1);
        let name = format!("{}{rest} {}", first.to_uppercase(), row[3].to_lowercase());
        let days = birds.entry(row[1].to_owned()).or_default();
        *days
            .entry(name)
            .or_default()
            .entry(date(&row[0])?)
            .or_default() += 1;
    }
    let sites = visits.into_iter().map(|(site, dates)| {
        let species = birds.remove(&site).unwrap_or_default();
        one(dates, species)
    });
    sites.collect()
}

fn one(
    dates: BTreeSet<NaiveDate>,
    species: BTreeMap<String, BTreeMap<NaiveDate, u32>>,
) -> Result<Site, Fault> {
    let visit = |date: &NaiveDate| Visit {
        date: *date,
        log_effort_ratio: 0.0,
    };
    let visits: Arc<[Visit]> = dates.iter().map(visit).collect();
    let (mut names, mut series) = (Vec::new(), Vec::new());
    for (name, days) in species {
        let count = |d: &NaiveDate| Count::Exactly(days.get(d).copied().unwrap_or(0));
        series.push(CountSeries::new(
            visits.clone(),
            dates.iter().map(count).collect(),
        )?);
        names.push(name);
    }
    let relatives = (0..names.len()).map(|i| relatives(&names, i)).collect();
    Ok(Site {
        visits,
        series,
        relatives,
    })
}

fn relatives(names: &[String], of: usize) -> Vec<usize> {
    let together = |other: &usize| {
        let in_set = |set: &&[&str]| {
            set.contains(&names[of].as_str()) && set.contains(&names[*other].as_str())
        };
        *other == of || SETS.iter().any(in_set)
    };
    (0..names.len()).filter(together).collect()
}

fn rows(path: &Path) -> Result<Vec<csv::StringRecord>, Fault> {
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_path(path)
        .map_err(|e| format!("{}: {e}", path.display()))?;
    Ok(reader.records().collect::<Result<_, _>>()?)
}

fn date(text: &str) -> Result<NaiveDate, Fault> {
    let date: Result<NaiveDate, _> = text.parse();
    date.map_err(|e| format!("{text} is no date: {e}").into())
}
