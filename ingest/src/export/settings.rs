//! A `wingtide.toml` that loads the tables again.

use super::ExportError;
use super::outgoing::{Outgoing, SiteOut};
use super::tables::{temperature_of, visits_of};
use crate::report::HalfYear;
use crate::store::outgoing::SiteContent;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

const HEADING: &str = "\
# wingtide.toml: loads the counts beside it. Made by wingtide export; addresses, cautions, sources
# and look-alike sets of the workspace that it comes from are not in it.

";

#[derive(Serialize)]
struct Settings<'a> {
    workspace: General<'a>,
    site: Vec<SiteEntry<'a>>,
    species: Vec<SpeciesEntry<'a>>,
    source: Vec<SourceEntry>,
}

#[derive(Serialize)]
struct General<'a> {
    name: &'a str,
    language: &'a str,
    visits_assumed: u32,
}

#[derive(Serialize)]
struct SiteEntry<'a> {
    id: &'a str,
    name: &'a str,
    latitude: f64,
    longitude: f64,
    time_zone: &'static str,
    region: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    standard_effort: Option<f64>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    cuts: BTreeMap<&'a str, Vec<String>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    gaps: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    visited: Vec<String>,
}

#[derive(Serialize)]
struct SpeciesEntry<'a> {
    scientific: &'a str,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    names: &'a BTreeMap<String, String>,
}

#[derive(Serialize)]
struct SourceEntry {
    id: &'static str,
    kind: &'static str,
    file: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    format: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    date_order: Option<&'static str>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    columns: BTreeMap<&'static str, &'static str>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    tokens: BTreeMap<&'static str, Vec<&'static str>>,
}

/// `extension` is that of the tables.
pub(super) fn text(out: &Outgoing, extension: &str) -> Result<String, ExportError> {
    written(out, sources(out, extension))
}

/// Settings that load the archive.
pub(super) fn archive(out: &Outgoing) -> Result<String, ExportError> {
    let entry = |kind: &'static str| SourceEntry {
        id: kind,
        kind,
        file: "darwin-core.zip".to_owned(),
        format: Some("darwin-core"),
        date_order: None,
        columns: BTreeMap::new(),
        tokens: BTreeMap::new(),
    };
    let mut sources = vec![entry("counts")];
    // of an archive that tells some species alone no visit is fully reported
    if visits_of(out).next().is_some() && !out.species_kept_back {
        sources.push(entry("visits"));
    }
    written(out, sources)
}

fn written(out: &Outgoing, source: Vec<SourceEntry>) -> Result<String, ExportError> {
    let settings = Settings {
        workspace: General {
            name: &out.name,
            language: &out.language,
            visits_assumed: out.visits_assumed,
        },
        site: out.sites.iter().map(site).collect(),
        species: out.species.iter().map(|s| species(s)).collect(),
        source,
    };
    let text = toml::to_string(&settings);
    let text = text.map_err(|e| ExportError::write("wingtide.toml", std::io::Error::other(e)))?;
    Ok(HEADING.to_owned() + &text)
}

fn site(out: &SiteOut) -> SiteEntry<'_> {
    let month_day = |(month, day): &(u8, u8)| format!("{month:02}-{day:02}");
    let site = &out.site;
    let cuts = site.cuts.iter();
    let (gaps, visited) = half_years(&out.content);
    SiteEntry {
        id: &site.id,
        name: &site.name,
        latitude: site.latitude,
        longitude: site.longitude,
        time_zone: site.time_zone.name(),
        region: &site.region.0,
        standard_effort: site.standard_effort,
        cuts: cuts
            .map(|(species, days)| (species.as_str(), days.iter().map(month_day).collect()))
            .collect(),
        gaps,
        visited,
    }
}

/// Half-years that are gaps or not otherwise than by their records.
fn half_years(content: &SiteContent) -> (Vec<String>, Vec<String>) {
    let halves = |dates: BTreeSet<&NaiveDate>| -> BTreeSet<HalfYear> {
        dates.into_iter().map(|d| HalfYear::of(*d)).collect()
    };
    let recorded = halves(
        content
            .counts
            .values()
            .flat_map(|days| days.keys())
            .collect(),
    );
    let visited = halves(content.visits.keys().collect());
    let written = |half: &HalfYear| format!("{:04}-H{}", half.year, half.half);
    let empty = visited
        .difference(&recorded)
        .filter(|h| !content.gaps.contains(h));
    let gaps = content.gaps.intersection(&recorded).map(written).collect();
    (gaps, empty.map(written).collect())
}

fn species(species: &config::settings::Species) -> SpeciesEntry<'_> {
    SpeciesEntry {
        scientific: &species.scientific,
        names: &species.names,
    }
}

fn sources(out: &Outgoing, extension: &str) -> Vec<SourceEntry> {
    let entry = |kind: &'static str, columns: &[(&'static str, &'static str)]| SourceEntry {
        id: kind,
        kind,
        file: format!("{kind}.{extension}"),
        format: None,
        date_order: Some("year-month-day"),
        columns: columns.iter().copied().collect(),
        tokens: BTreeMap::new(),
    };
    let dated = [("date", "date"), ("site", "site"), ("effort", "effort")];
    let birds = [("species", "scientificName"), ("count", "count")];
    let mut counts = entry("counts", &[&dated[..], &birds].concat());
    counts.tokens = [
        ("at_least", vec!["+"]),
        ("about", vec!["c."]),
        ("present", vec!["x"]),
    ]
    .into();
    let mut all = vec![counts];
    if visits_of(out).next().is_some() {
        all.push(entry("visits", &dated));
    }
    let temperature = temperature_of(out);
    if let Some((site, ..)) = temperature.first() {
        let columns = [("date", "date"), ("mean_c", "mean_c"), ("site", "site")];
        let number = if site.is_some() { 3 } else { 2 };
        all.push(entry("temperature", &columns[..number]));
    }
    all
}
