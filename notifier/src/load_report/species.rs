//! Totals of each species over all files.

use super::LoadPage;
use ingest::report::grouped;
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Debug, Serialize)]
pub(super) struct SpeciesView {
    name: String,
    /// The scientific name, where another one is shown.
    scientific: Option<String>,
    listed: bool,
    rows: String,
    birds: String,
    sites: String,
}

#[derive(Default)]
struct Total {
    listed: bool,
    rows: u64,
    birds: u64,
    sites: BTreeMap<String, u64>,
}

/// Every species by scientific name.
pub(super) fn view(page: &LoadPage<'_>) -> Vec<SpeciesView> {
    let mut totals: BTreeMap<&str, Total> = BTreeMap::new();
    for species in page.report.sources.iter().flat_map(|s| &s.species) {
        let total = totals.entry(&species.name).or_default();
        total.listed |= species.listed;
        total.rows += species.records;
        total.birds += species.birds;
        for (site, rows) in &species.sites {
            *total.sites.entry(site.clone()).or_default() += rows;
        }
    }
    totals
        .iter()
        .map(|(name, total)| one(page, name, total))
        .collect()
}

fn one(page: &LoadPage<'_>, scientific: &str, total: &Total) -> SpeciesView {
    let name = page.workspace.shown_name(scientific);
    // sites in the order of the settings
    let sites = page.workspace.sites.iter().filter_map(|site| {
        let rows = total.sites.get(&site.id)?;
        Some(format!("{} {}", site.name, grouped(*rows)))
    });
    SpeciesView {
        name: name.to_owned(),
        scientific: (name != scientific).then(|| scientific.to_owned()),
        listed: total.listed,
        rows: grouped(total.rows),
        birds: grouped(total.birds),
        sites: sites.collect::<Vec<_>>().join(", "),
    }
}
