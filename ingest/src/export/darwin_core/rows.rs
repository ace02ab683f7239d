//! The archive's rows.

use super::super::outgoing::{CoarseFind, Outgoing, SiteOut};
use super::super::tables::text;
use super::super::words;
use super::TakeCells;
use chrono::NaiveDate;
use forecast::series::Count;
use std::collections::BTreeSet;
use std::io;

/// Where the files do not say their unit.
const UNIT_UNKNOWN: &str = "units of the observers";

fn unit(out: &Outgoing) -> &'static str {
    out.effort_unit.unwrap_or(UNIT_UNKNOWN)
}

/// What a fully reported visit reports: every bird, or where species are kept back, those told.
fn scope(out: &Outgoing) -> String {
    if !out.species_kept_back {
        return "Aves".to_owned();
    }
    let told = out.sites.iter().flat_map(|s| s.content.counts.keys());
    let told: BTreeSet<&str> = told.map(String::as_str).collect();
    told.into_iter().collect::<Vec<_>>().join(" | ")
}

fn event_id(site: &SiteOut, date: NaiveDate) -> String {
    format!("{}:{date}", site.site.id)
}

fn coarse_event_id(find: &CoarseFind) -> String {
    format!("{}:{}", find.area.id(), find.month_text())
}

/// Visits, then the areas and months of what is told roughly.
pub(super) fn events(out: &Outgoing, take: TakeCells<'_>) -> io::Result<()> {
    for site in &out.sites {
        visits(out, site, take)?;
    }
    let mut told = BTreeSet::new();
    let coarse = out.coarse.iter();
    for find in coarse.filter(|f| told.insert(coarse_event_id(f))) {
        coarse_event(find, take)?;
    }
    Ok(())
}

fn visits(out: &Outgoing, site: &SiteOut, take: TakeCells<'_>) -> io::Result<()> {
    let place = &site.site;
    let told = site
        .grid
        .map(|g| format!("place given as the middle of a grid cell of {} km", g.km));
    for (date, facts) in &site.content.visits {
        let effort = facts.effort.map(|e| format!("{e} {}", unit(out)));
        take(&[
            &event_id(site, *date),
            &date.to_string(),
            &place.id,
            &place.name,
            &place.latitude.to_string(),
            &place.longitude.to_string(),
            &text(site.grid.map(|g| g.uncertainty_m())),
            &effort.unwrap_or_default(),
            &text(told.as_deref()),
        ])?;
    }
    Ok(())
}

fn coarse_event(find: &CoarseFind, take: TakeCells<'_>) -> io::Result<()> {
    let km = find.area.km;
    take(&[
        &coarse_event_id(find),
        &find.month_text(),
        &find.area.id(),
        "",
        &find.area.latitude.to_string(),
        &find.area.longitude.to_string(),
        &find.area.uncertainty_m().to_string(),
        "",
        &format!("place given as a grid cell of {km} km and date as a month"),
    ])
}

pub(super) fn occurrences(out: &Outgoing, take: TakeCells<'_>) -> io::Result<()> {
    for site in &out.sites {
        for row in site.rows() {
            let event = event_id(site, row.date);
            occurrence(out, &event, row.species, row.count, take)?;
        }
    }
    for find in &out.coarse {
        occurrence(out, &coarse_event_id(find), &find.species, find.most, take)?;
    }
    Ok(())
}

fn occurrence(
    out: &Outgoing,
    event: &str,
    species: &str,
    count: Count,
    take: TakeCells<'_>,
) -> io::Result<()> {
    if count == Count::Unknown {
        return Ok(());
    }
    let quantity = words::written(count).filter(|_| count != Count::Present);
    take(&[
        event,
        &format!("{event}:{}", species.replace(' ', "-")),
        species,
        out.vernacular(species).unwrap_or_default(),
        words::status(count),
        &text(words::exact(count)),
        quantity.as_deref().unwrap_or_default(),
        quantity.as_ref().map_or("", |_| "individuals"),
    ])
}

pub(super) fn humboldt(out: &Outgoing, take: TakeCells<'_>) -> io::Result<()> {
    let scope = scope(out);
    for site in &out.sites {
        for (date, facts) in &site.content.visits {
            let searched = facts.fully_reported.to_string();
            take(&[
                &event_id(site, *date),
                &searched,
                &searched,
                &facts.effort.is_some().to_string(),
                &text(facts.effort),
                facts.effort.map_or("", |_| unit(out)),
                &scope,
            ])?;
        }
    }
    Ok(())
}
