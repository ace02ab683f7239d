//! The archive's rows.

use super::super::outgoing::{CoarseFind, Outgoing, SiteOut};
use super::super::tables::text;
use super::super::words;
use super::TakeCells;
use chrono::NaiveDate;
use forecast::series::Count;
use std::collections::BTreeSet;
use std::io;

/// The settings know no unit: those who counted used one of their own.
const EFFORT_UNIT: &str = "units of the observers, mostly minutes";

fn event_id(site: &SiteOut, date: NaiveDate) -> String {
    format!("{}:{date}", site.site.id)
}

fn coarse_event_id(find: &CoarseFind) -> String {
    format!("{}:{}", find.area.id(), find.month_text())
}

/// Visits, then the areas and months of what is told roughly.
pub(super) fn events(out: &Outgoing, take: TakeCells<'_>) -> io::Result<()> {
    for site in &out.sites {
        let told = site
            .grid
            .map(|g| format!("place given as the middle of a grid cell of {} km", g.km));
        for (date, facts) in &site.content.visits {
            take(&[
                &event_id(site, *date),
                &date.to_string(),
                &site.site.id,
                &site.site.name,
                &site.site.latitude.to_string(),
                &site.site.longitude.to_string(),
                &text(site.grid.map(|g| g.uncertainty_m())),
                &facts
                    .effort
                    .map_or_else(String::new, |e| format!("{e} {EFFORT_UNIT}")),
                &text(told.as_deref()),
            ])?;
        }
    }
    let mut told = BTreeSet::new();
    for find in out
        .coarse
        .iter()
        .filter(|f| told.insert(coarse_event_id(f)))
    {
        take(&[
            &coarse_event_id(find),
            &find.month_text(),
            &find.area.id(),
            "",
            &find.area.latitude.to_string(),
            &find.area.longitude.to_string(),
            &find.area.uncertainty_m().to_string(),
            "",
            &format!(
                "place given as a grid cell of {} km and date as a month",
                find.area.km
            ),
        ])?;
    }
    Ok(())
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
    let (number, kind) = match count {
        Count::Exactly(n) => (Some(n), "individuals"),
        Count::AtLeast(n) => (Some(n), "individuals, at least"),
        Count::About(n) => (Some(n), "individuals, about"),
        Count::Present => (None, ""),
        Count::Unknown => return Ok(()),
    };
    take(&[
        event,
        &format!("{event}:{}", species.replace(' ', "-")),
        species,
        out.vernacular(species).unwrap_or_default(),
        words::status(count),
        &text(words::exact(count)),
        &text(number),
        kind,
    ])
}

pub(super) fn humboldt(out: &Outgoing, take: TakeCells<'_>) -> io::Result<()> {
    for site in &out.sites {
        for (date, facts) in &site.content.visits {
            let searched = facts.fully_reported.to_string();
            take(&[
                &event_id(site, *date),
                &searched,
                &searched,
                &facts.effort.is_some().to_string(),
                &text(facts.effort),
                facts.effort.map_or("", |_| EFFORT_UNIT),
            ])?;
        }
    }
    Ok(())
}
