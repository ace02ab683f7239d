//! Found on one day only.

use super::found::{Find, Found, Series};
use super::of_batch::{DAYS_TOLD, OfBatch, OneDay};
use super::{Question, Suspect};
use crate::names::NameBook;
use crate::totals::TotalsWords;
use chrono::Datelike;
use config::settings::Workspace;
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// A year with fewer visits says little about a resident.
const LEAST_VISITS: usize = 20;
/// Other years that are needed to call a species a resident.
const LEAST_YEARS: usize = 3;
/// Days with records that are needed before a name on one of them is odd.
const LEAST_DAYS: usize = DAYS_TOLD;

/// Finds on the only day of a year of 20 visits or more, of a species that in the middle one of
/// the other such years, three at least, was found on half of the visits or more.
pub(super) fn residents(found: &Found) -> Vec<Suspect> {
    let visits: BTreeMap<&str, BTreeMap<i32, usize>> = found
        .visits
        .iter()
        .map(|(site, days)| (site.as_str(), by_year(days.iter().map(|d| d.year()))))
        .collect();
    let of_series = |series| {
        let visits = visits.get(series_site(series));
        visits.map_or_else(Vec::new, |visits| lone_days(found, series, visits))
    };
    found.series().flat_map(of_series).collect()
}

fn series_site(series: &Series) -> &str {
    &series.site
}

fn by_year(years: impl Iterator<Item = i32>) -> BTreeMap<i32, usize> {
    let mut number = BTreeMap::new();
    years.for_each(|year| *number.entry(year).or_default() += 1);
    number
}

fn lone_days(found: &Found, series: &Series, visits: &BTreeMap<i32, usize>) -> Vec<Suspect> {
    let days = by_year(series.finds.iter().map(|f| f.date.year()));
    let well_visited = |year: &i32| visits.get(year).is_some_and(|n| *n >= LEAST_VISITS);
    let ask = |find: &Find| {
        let year = find.date.year();
        if days.get(&year) != Some(&1) || !well_visited(&year) {
            return None;
        }
        let others = visits
            .iter()
            .filter(|(y, _)| **y != year && well_visited(y));
        let parts: Vec<f64> = others
            .map(|(y, n)| days.get(y).copied().unwrap_or(0) as f64 / *n as f64)
            .collect();
        (parts.len() >= LEAST_YEARS && middle(parts) >= 0.5).then(|| {
            let why = format!(
                "the only one of {} visits in {year} that found it, where in most years half of them do",
                visits.get(&year).copied().unwrap_or_default()
            );
            found.suspect(Question::ResidentOnce, series, find, why)
        })
    };
    series.finds.iter().filter_map(ask).collect()
}

/// The lower of the middle two of an even number.
fn middle(mut parts: Vec<f64>) -> f64 {
    parts.sort_by(f64::total_cmp);
    parts[(parts.len() - 1) / 2]
}

/// Species that the settings do not list, found on one day in all files, which tell of 50 days or
/// more: a rare bird, or a slip of the pen.
pub(super) fn names(batches: &[(&str, OfBatch)], workspace: &Workspace) -> Vec<Suspect> {
    let days: BTreeSet<_> = batches.iter().flat_map(|(_, found)| &found.days).collect();
    if days.len() < LEAST_DAYS {
        return Vec::new();
    }
    let by_name = by_name(batches);
    let listed: HashSet<&str> = workspace
        .species
        .iter()
        .map(|s| s.scientific.as_str())
        .collect();
    let book = NameBook::new(
        &workspace.species,
        &workspace.records.undecided,
        TotalsWords::new(&[]), // a name of the store is one
        false,
    );
    let mut suspects = Vec::new();
    for (&name, found) in &by_name {
        let (Some((source, day)), false) = (found, listed.contains(name)) else {
            continue;
        };
        let listed_near = book.nearest_species(name);
        let others = by_name.keys().copied().filter(|other| *other != name);
        let near = listed_near.or_else(|| config::nearest::nearest(name, others));
        let meant = near.map_or_else(String::new, |n| format!("; {n} meant?"));
        let why = format!("the only day with that name in all the files{meant}");
        suspects.extend(day.sites.first().map(|at| Suspect {
            question: Question::NameOnce,
            source: (*source).to_owned(),
            line: u64::from(at.line),
            rows: u64::from(at.rows),
            site: Some(at.site.clone()),
            species: Some(name.to_owned()),
            date: day.date.to_string(),
            why,
        }));
    }
    suspects
}

/// The source and the only day of each name; None where there are several days.
fn by_name<'b>(batches: &'b [(&str, OfBatch)]) -> BTreeMap<&'b str, Option<(&'b str, OneDay)>> {
    let mut all: BTreeMap<&str, Option<(&str, OneDay)>> = BTreeMap::new();
    for (source, found) in batches {
        for (name, day) in &found.names {
            let Some(known) = all.get_mut(name.as_str()) else {
                all.insert(name, day.clone().map(|day| (*source, day)));
                continue;
            };
            match (known.as_mut(), day) {
                (Some((_, known)), Some(day)) if known.date == day.date => {
                    let sites = day.sites.iter();
                    sites.for_each(|at| known.add(&at.site, at.line, at.rows));
                }
                _ => *known = None,
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::middle;

    #[test]
    fn middles() {
        assert_eq!(middle(vec![0.3, 0.1, 0.2]), 0.2);
        assert_eq!(middle(vec![0.4, 0.3, 0.1, 0.2]), 0.2);
    }
}
