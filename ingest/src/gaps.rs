//! What is known of each site's visits, from all sources.

use crate::report::{Gap, HalfYear, Kind, SiteReport, SourceReport, Zeros};
use crate::source::DaysBySite;
use chrono::{Datelike, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

/// Dates without a visit that a report names.
const DATES_NAMED: usize = 10;

impl HalfYear {
    /// The half-year that holds the date.
    pub fn of(date: NaiveDate) -> Self {
        HalfYear {
            year: date.year(),
            half: if date.month() <= 6 { 1 } else { 2 },
        }
    }
}

impl std::fmt::Display for HalfYear {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let months = if self.half == 1 {
            "January-June"
        } else {
            "July-December"
        };
        write!(f, "{months} {}", self.year)
    }
}

/// The dated rows of one source.
pub(crate) enum Dated {
    /// Rows of a visits table.
    Visits(DaysBySite),
    /// Rows of a counts table, and whether its visits are fully reported.
    Counts(DaysBySite, bool),
}

/// What is known of a visit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct VisitFacts {
    /// A species without a row was not found.
    pub(crate) fully_reported: bool,
    pub(crate) effort: Option<f64>,
    pub(crate) records: u32,
}

/// A site's visits by date, from all sources. The effort of a visits table goes before that of a
/// counts table. A date with records that no visits table has is a visit all the same, but one
/// that tells of the recorded species alone, unless its counts are fully reported.
pub(crate) fn visits(dated: &[Dated], site: &str) -> BTreeMap<NaiveDate, VisitFacts> {
    let mut visits: BTreeMap<NaiveDate, VisitFacts> = BTreeMap::new();
    for days in dated.iter().filter_map(Dated::visits) {
        for (date, day) in days.get(site).into_iter().flatten() {
            let facts = visits.entry(*date).or_default();
            facts.fully_reported = true;
            facts.effort = facts.effort.or(day.effort_of_searches());
        }
    }
    for (days, full) in dated.iter().filter_map(Dated::counts) {
        for (date, day) in days.get(site).into_iter().flatten() {
            let facts = visits.entry(*date).or_default();
            facts.fully_reported |= full;
            facts.effort = facts.effort.or(day.effort_of_records());
            facts.records += day.rows;
        }
    }
    visits
}

impl Dated {
    /// None for a source that tells of no visits.
    pub(crate) fn of(kind: Kind, days: DaysBySite, fully_reported: bool) -> Option<Self> {
        match kind {
            Kind::Visits => Some(Dated::Visits(days)),
            Kind::Counts => Some(Dated::Counts(days, fully_reported)),
            Kind::Temperature => None,
        }
    }

    fn visits(&self) -> Option<&DaysBySite> {
        match self {
            Dated::Visits(days) => Some(days),
            Dated::Counts(..) => None,
        }
    }

    /// Is there a visits table that tells of the site?
    pub(crate) fn has_visits_table(&self, site: &str) -> bool {
        self.visits().is_some_and(|days| days.contains_key(site))
    }

    fn counts(&self) -> Option<(&DaysBySite, bool)> {
        match self {
            Dated::Visits(_) => None,
            Dated::Counts(days, full) => Some((days, *full)),
        }
    }
}

/// What the report says of a site.
pub(crate) fn site_report(
    site: &str,
    visits: &BTreeMap<NaiveDate, VisitFacts>,
    gaps: &[Gap],
    sources: &[SourceReport],
    has_visits_table: bool,
) -> SiteReport {
    let number = |test: fn(&VisitFacts) -> bool| visits.values().filter(|v| test(v)).count() as u64;
    let full = number(|v| v.fully_reported);
    let partial = || {
        visits
            .iter()
            .filter(|(_, v)| !v.fully_reported)
            .map(|(d, _)| *d)
    };
    let lacking = if has_visits_table {
        visits.len() as u64 - full
    } else {
        0
    };
    let (records, species) = found_at(site, sources);
    SiteReport {
        site: site.to_owned(),
        visits: visits.len() as u64,
        gap_visits: gaps
            .iter()
            .filter(|g| g.site == site)
            .map(|g| g.visits)
            .sum(),
        fully_reported: full,
        with_effort: number(|v| v.effort.is_some()),
        span: visits
            .keys()
            .next()
            .copied()
            .zip(visits.keys().next_back().copied()),
        dates_without_visit: partial()
            .take(if lacking > 0 { DATES_NAMED } else { 0 })
            .collect(),
        dates_without_visit_total: lacking,
        records,
        species,
        zeros: zeros(full, visits.len() as u64),
    }
}

/// Rows and species of a site in all sources.
fn found_at(site: &str, sources: &[SourceReport]) -> (u64, u64) {
    let totals = sources.iter().flat_map(|s| &s.species);
    let here = totals.filter_map(|total| Some((&total.name, *total.sites.get(site)?)));
    let (names, rows): (BTreeSet<&String>, Vec<u64>) = here.unzip();
    (rows.iter().sum(), names.len() as u64)
}

fn zeros(full: u64, visits: u64) -> Zeros {
    match (full, visits) {
        (_, 0) => Zeros::NoVisits,
        (0, _) => Zeros::Unknown,
        (full, visits) if full == visits => Zeros::Known,
        _ => Zeros::Partly,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::visit::Days;

    fn days(dates: &[(i32, u32, u32)], effort: Option<f64>) -> DaysBySite {
        let mut days = Days::new();
        for &(y, m, d) in dates {
            let date = NaiveDate::from_ymd_opt(y, m, d).unwrap();
            days.entry(date).or_default().add_row(effort);
        }
        DaysBySite::from([("bank".to_owned(), days)])
    }

    #[test]
    fn visits_of_several_sources() {
        let dated = [
            Dated::Counts(days(&[(2011, 5, 1), (2011, 5, 2)], Some(30.0)), false),
            Dated::Visits(days(&[(2011, 5, 1), (2011, 5, 3)], Some(60.0))),
            Dated::Counts(days(&[(2011, 5, 4)], None), true),
        ];
        let visits = visits(&dated, "bank");
        let facts: Vec<_> = visits
            .values()
            .map(|v| (v.fully_reported, v.effort, v.records))
            .collect();
        let expected = [
            (true, Some(60.0), 1),
            (false, Some(30.0), 1),
            (true, Some(60.0), 0),
            (true, None, 1),
        ];
        assert_eq!(facts, expected);
        let report = site_report("bank", &visits, &[], &[], true);
        assert_eq!(
            (report.visits, report.fully_reported, report.with_effort),
            (4, 3, 3)
        );
        assert_eq!(
            (report.zeros, report.dates_without_visit_total),
            (Zeros::Partly, 1)
        );
        assert_eq!(
            report.dates_without_visit,
            [NaiveDate::from_ymd_opt(2011, 5, 2).unwrap()]
        );
    }
}
