//! Visits that stand twice, as where an export was pasted in below itself.

use super::found::{Find, Series};
use super::{Question, Suspect};
use chrono::NaiveDate;
use config::settings::{SourceKind, Workspace};
use std::collections::{BTreeMap, BTreeSet};

/// A visit each of whose rows stands in its source more than once.
#[derive(Debug)]
pub(super) struct Twice {
    source: usize,
    site: String,
    date: NaiveDate,
    /// Its first line, and its rows.
    line: u32,
    rows: u32,
}

/// Source, site and date of a visit.
type Key<'s> = (usize, &'s str, NaiveDate);

/// Different rows of which a visit must have so many: two flocks of one species may well be alike.
/// Common practice, no source.
const LEAST_DIFFERENT: usize = 2;

/// Visits of which every number of every species stands more than once. The finds of each series
/// are in the order of date and source, and still one a row.
pub(super) fn visits(series: &[Series]) -> Vec<Twice> {
    let mut found: BTreeMap<Key<'_>, (u32, u32, usize)> = BTreeMap::new();
    for (key, rows) in rows_of_visits(series).filter(|(_, rows)| all_alike(rows)) {
        let lines = rows.iter().map(|find| find.line);
        let (line, number, unlike) = found.entry(key).or_insert((u32::MAX, 0, 0));
        *line = lines.fold(*line, u32::min);
        *number += rows.len() as u32; // lines fit 32 bits
        *unlike += different(rows);
    }
    if !found.is_empty() {
        for (key, _) in rows_of_visits(series).filter(|(_, rows)| !all_alike(rows)) {
            found.remove(&key);
        }
    }
    found.retain(|_, (_, _, unlike)| *unlike >= LEAST_DIFFERENT);
    let twice = |((source, site, date), (line, rows, _)): (Key<'_>, _)| Twice {
        source,
        site: site.to_owned(),
        date,
        line,
        rows,
    };
    found.into_iter().map(twice).collect()
}

/// The rows of each species on each visit.
fn rows_of_visits(series: &[Series]) -> impl Iterator<Item = (Key<'_>, &[Find])> {
    series.iter().flat_map(|series| {
        let visits = series
            .finds
            .chunk_by(|a, b| (a.date, a.source) == (b.date, b.source));
        visits.map(|rows| ((rows[0].source, series.site.as_str(), rows[0].date), rows))
    })
}

fn all_alike(rows: &[Find]) -> bool {
    let alike = |find: &Find| rows.iter().filter(|f| f.birds == find.birds).count() > 1;
    rows.len() > 1 && rows.iter().all(alike)
}

fn different(rows: &[Find]) -> usize {
    let numbers: BTreeSet<Option<u64>> = rows.iter().map(|find| find.birds).collect();
    numbers.len()
}

/// The question; where each row is one bird, rows are alike by their nature.
pub(super) fn ask(twice: &[Twice], sources: &[String], workspace: &Workspace) -> Vec<Suspect> {
    let counted = |source: &str| {
        let known = workspace.sources.iter().find(|s| s.id == source);
        known.is_some_and(|s| matches!(&s.kind, SourceKind::Counts(c) if c.count.is_some()))
    };
    let asked = twice.iter().filter(|t| counted(&sources[t.source]));
    asked
        .map(|t| Suspect {
            question: Question::VisitTwice,
            source: sources[t.source].clone(),
            line: u64::from(t.line),
            rows: u64::from(t.rows),
            site: Some(t.site.clone()),
            species: None,
            date: t.date.to_string(),
            why: "each of its rows stands more than once, and they were added up; if they were \
                  pasted in twice, take out what is too much"
                .to_owned(),
        })
        .collect()
}
