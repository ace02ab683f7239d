//! Takes out what must not be passed on, so that it cannot be inferred from what is left.
//!
//! * A species withheld leaves no row and no zero, and a visit of which nothing is left goes too,
//!   unless it was fully reported.
//! * A site withheld leaves nothing.
//! * A site coarsened keeps its dates, under another name, in the middle of its grid cell.
//! * A species coarsened is told by grid cell and month alone, as a date would tell which site was
//!   visited. It is told only where two sites or more of that cell were visited in that month, so
//!   that it may have been at either; else it is withheld.

use super::grid::Cell;
use super::outgoing::{CoarseFind, Outgoing, SiteOut};
use crate::report::HalfYear;
use chrono::{Datelike, NaiveDate};
use config::sensitive::Sensitive;
use config::settings::Workspace;
use forecast::series::Count;
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// Sites of a cell that must have been visited in a month.
const LEAST_SITES: usize = 2;

/// What was kept back, for the keeper's eyes alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LeftOut {
    /// Sites withheld.
    pub sites: usize,
    /// Species withheld.
    pub species: usize,
    /// Sites told to a grid cell.
    pub coarse_sites: usize,
    /// Species told by grid cell and month.
    pub coarse_species: usize,
    /// Finds of those species that were withheld, as their cell and month would tell the site.
    pub finds_withheld: usize,
}

pub(super) fn apply(mut out: Outgoing, workspace: &Workspace) -> (Outgoing, LeftOut) {
    let mut left_out = LeftOut::default();
    let sites = out.sites.len();
    out.sites
        .retain(|s| s.site.sensitive != Some(Sensitive::Withhold));
    left_out.sites = sites - out.sites.len();
    let halves: Vec<HashSet<HalfYear>> = out.sites.iter().map(recorded_halves).collect();
    for species in &workspace.species {
        match species.sensitive {
            None => continue,
            Some(Sensitive::Withhold) => left_out.species += 1,
            Some(Sensitive::Coarsen { .. }) => left_out.coarse_species += 1,
        }
        let taken = take_out(&mut out.sites, &species.scientific);
        if let Some(Sensitive::Coarsen { km }) = species.sensitive {
            let (told, withheld) = by_cell_and_month(&out.sites, &species.scientific, taken, km);
            out.coarse.extend(told);
            left_out.finds_withheld += withheld;
        }
    }
    for (site, before) in out.sites.iter_mut().zip(&halves) {
        nothing_left(site, before);
    }
    left_out.coarse_sites = coarsen_sites(&mut out.sites);
    let told: HashSet<&String> = out
        .sites
        .iter()
        .flat_map(|s| s.content.counts.keys())
        .collect();
    out.species.retain(|s| told.contains(&s.scientific));
    (out, left_out)
}

/// A find at a site, by the site's place among the sites.
type Taken = Vec<(usize, NaiveDate, Count)>;

/// Every trace of a species at every site; what was found of it.
fn take_out(sites: &mut [SiteOut], species: &str) -> Taken {
    let mut taken = Taken::new();
    for (place, site) in sites.iter_mut().enumerate() {
        site.site.cuts.remove(species);
        let days = site.content.counts.remove(species).unwrap_or_default();
        let found = days
            .into_iter()
            .filter(|(_, count)| count.found() == Some(true));
        taken.extend(found.map(|(date, count)| (place, date, count)));
    }
    taken
}

/// Finds by cell and month, and how many were withheld.
fn by_cell_and_month(
    sites: &[SiteOut],
    species: &str,
    taken: Taken,
    km: f64,
) -> (Vec<CoarseFind>, usize) {
    let month = |date: NaiveDate| (date.year(), date.month());
    let cells: Vec<Cell> = sites.iter().map(|s| cell_of(s, km)).collect();
    let mut told: BTreeMap<(String, i32, u32), CoarseFind> = BTreeMap::new();
    let mut withheld = 0;
    for (place, date, count) in taken {
        let area = cells[place];
        let visited = sites.iter().zip(&cells).filter(|(site, cell)| {
            let mut dates = site.content.visits.keys();
            **cell == area && dates.any(|d| month(*d) == month(date))
        });
        if visited.count() < LEAST_SITES {
            withheld += 1;
            continue;
        }
        let (year, month) = month(date);
        let find = told.entry((area.id(), year, month)).or_insert(CoarseFind {
            area,
            year,
            month,
            species: species.to_owned(),
            most: count,
        });
        find.most = the_more(find.most, count);
    }
    (told.into_values().collect(), withheld)
}

/// The cell of a site, coarser where the site itself is.
fn cell_of(site: &SiteOut, km: f64) -> Cell {
    let own = match site.site.sensitive {
        Some(Sensitive::Coarsen { km }) => km,
        _ => 0.0,
    };
    Cell::of(site.site.latitude, site.site.longitude, km.max(own))
}

fn the_more(a: Count, b: Count) -> Count {
    if b.birds() > a.birds() { b } else { a }
}

/// Half-years with a record.
fn recorded_halves(site: &SiteOut) -> HashSet<HalfYear> {
    let days = site.content.counts.values().flat_map(|days| days.keys());
    days.map(|date| HalfYear::of(*date)).collect()
}

/// Visits that told of a species taken out alone would tell that something was there; and a
/// half-year that lost all its records is a gap to whoever gets the rest.
fn nothing_left(site: &mut SiteOut, halves_before: &HashSet<HalfYear>) {
    let after = recorded_halves(site);
    let content = &mut site.content;
    let days = content
        .counts
        .values()
        .flat_map(|days| days.keys().copied());
    let recorded: BTreeSet<NaiveDate> = days.collect();
    let told = |date: &NaiveDate, full: bool| full || recorded.contains(date);
    content
        .visits
        .retain(|date, facts| told(date, facts.fully_reported));
    content
        .gaps
        .extend(halves_before.difference(&after).copied());
}

/// Gives coarsened sites other names and the middle of their cell; how many there are.
fn coarsen_sites(sites: &mut [SiteOut]) -> usize {
    let ids: HashSet<String> = sites.iter().map(|s| s.site.id.clone()).collect();
    let free = (1..)
        .map(|n| format!("area-{n}"))
        .filter(|id| !ids.contains(id));
    let coarse = sites.iter_mut().filter_map(|s| match s.site.sensitive {
        Some(Sensitive::Coarsen { km }) => Some((s, km)),
        _ => None,
    });
    let mut number = 0;
    for ((out, km), id) in coarse.zip(free) {
        let cell = Cell::of(out.site.latitude, out.site.longitude, km);
        out.site.name = id.clone();
        out.site.id = id;
        (out.site.latitude, out.site.longitude) = (cell.latitude, cell.longitude);
        out.grid = Some(cell);
        number += 1;
    }
    number
}
