//! What is known of each site's visits, from all sources.

use crate::overlap::Merging;
use crate::report::{Gap, HalfYear, Kind, SiteReport, SourceReport, Zeros};
use crate::source::DaysBySite;
use crate::visit::{Day, both};
use chrono::{Datelike, NaiveDate};
use config::meaning::{ObserverRule, OverlapRule, Purpose};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

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

/// The dated rows of one source, and its rule for several observers.
pub(crate) enum Dated {
    /// Rows of a visits table.
    Visits(Arc<DaysBySite>, ObserverRule),
    /// Rows of a counts table, and whether its visits are fully reported.
    Counts(Arc<DaysBySite>, ObserverRule, bool),
}

/// What is known of a visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct VisitFacts {
    /// There was a standard search; of a targeted visit nothing but its records is of use.
    pub(crate) standard: bool,
    /// Purpose of the counts that do not state one.
    pub(crate) unstated: Purpose,
    /// A species without a row was not found.
    pub(crate) fully_reported: bool,
    pub(crate) effort: Option<f64>,
    pub(crate) records: u32,
}

/// A site's visits by date, from all sources. The effort of a visits table goes before that of a
/// counts table. A date with records that no visits table has is a visit all the same, but one
/// that tells of the recorded species alone, unless its counts are fully reported. What a row
/// says of that goes before what holds for its source, and a no before a yes. Counts sources that
/// tell of one visit are put together by the workspace's rule.
///
/// Standard searches alone decide what a standard visit is; `use_targeted` takes all as such.
pub(crate) fn visits<'d>(
    dated: impl IntoIterator<Item = &'d Dated>,
    site: &str,
    merging: Merging,
) -> BTreeMap<NaiveDate, VisitFacts> {
    let mut days: BTreeMap<NaiveDate, Vec<(&Dated, &Day)>> = BTreeMap::new();
    for source in dated {
        for (date, day) in source.days().get(site).into_iter().flatten() {
            days.entry(*date).or_default().push((source, day));
        }
    }
    let facts = |(date, days): (NaiveDate, Vec<_>)| (date, facts(&days, merging));
    days.into_iter().map(facts).collect()
}

fn facts(days: &[(&Dated, &Day)], merging: Merging) -> VisitFacts {
    let unstated = unstated_purpose(days);
    let purpose = (!merging.use_targeted).then_some(Purpose::Standard);
    let (mut effort, mut of_records, mut stated) = (None, None, None);
    let (mut by_source, mut unread, mut standard) = (false, false, false);
    let mut told = false; // by a counts source
    for (source, day) in days {
        let own = source.unstated(unstated);
        let Some(part) = day.part(purpose, own, source.rule()) else {
            continue;
        };
        standard = true;
        match source {
            Dated::Visits(..) => {
                by_source = true;
                effort = effort.or(part.effort_of_searches());
            }
            Dated::Counts(_, _, full) => {
                of_records = merging.effort(of_records, part.effort_of_records());
                if told && merging.overlap == OverlapRule::First {
                    continue;
                }
                told = true;
                by_source |= full;
            }
        }
        stated = both(stated, part.fully_reported());
        unread |= part.unread();
    }
    let counts = days.iter().filter(|(source, _)| !source.is_visits());
    VisitFacts {
        standard,
        unstated,
        fully_reported: standard && !unread && stated.unwrap_or(by_source),
        effort: effort.or(of_records),
        records: counts.map(|(_, day)| day.rows()).sum(),
    }
}

/// Counts that state no purpose are of the visit that a visits table has on their date.
fn unstated_purpose(days: &[(&Dated, &Day)]) -> Purpose {
    let mut tables = days
        .iter()
        .filter(|(source, _)| source.is_visits())
        .peekable();
    let standard = |(_, day): &(&Dated, &Day)| day.has(Purpose::Standard, Purpose::Standard);
    if tables.peek().is_none() || tables.any(standard) {
        Purpose::Standard
    } else {
        Purpose::Targeted
    }
}

impl Dated {
    /// None for a source that tells of no visits.
    pub(crate) fn of(
        kind: Kind,
        days: Arc<DaysBySite>,
        rule: ObserverRule,
        fully_reported: bool,
    ) -> Option<Self> {
        match kind {
            Kind::Visits => Some(Dated::Visits(days, rule)),
            Kind::Counts => Some(Dated::Counts(days, rule, fully_reported)),
            Kind::Temperature => None,
        }
    }

    pub(crate) fn days(&self) -> &DaysBySite {
        match self {
            Dated::Visits(days, _) | Dated::Counts(days, ..) => days,
        }
    }

    fn rule(&self) -> ObserverRule {
        match self {
            Dated::Visits(_, rule) | Dated::Counts(_, rule, _) => *rule,
        }
    }

    /// The purpose of rows that state none, where that of counts is so.
    fn unstated(&self, of_counts: Purpose) -> Purpose {
        match self {
            Dated::Visits(..) => Purpose::Standard,
            Dated::Counts(..) => of_counts,
        }
    }

    fn is_visits(&self) -> bool {
        matches!(self, Dated::Visits(..))
    }

    pub(crate) fn is_counts(&self) -> bool {
        matches!(self, Dated::Counts(..))
    }

    /// Half-years of a site of which it lists a visit, where it is a visits table.
    pub(crate) fn listed_half_years(&self, site: &str) -> BTreeSet<HalfYear> {
        let days = self.days().get(site).filter(|_| self.is_visits());
        let dates = days.into_iter().flat_map(|days| days.keys());
        dates.map(|date| HalfYear::of(*date)).collect()
    }

    /// Is there a visits table that tells of the site?
    pub(crate) fn has_visits_table(&self, site: &str) -> bool {
        self.is_visits() && self.days().contains_key(site)
    }
}

/// What the report says of a site.
pub(crate) fn site_report(
    site: &str,
    all: &BTreeMap<NaiveDate, VisitFacts>,
    gaps: &[Gap],
    sources: &[SourceReport],
    has_visits_table: bool,
) -> SiteReport {
    let visits: BTreeMap<NaiveDate, &VisitFacts> = all
        .iter()
        .filter(|(_, v)| v.standard)
        .map(|(date, v)| (*date, v))
        .collect();
    let number = |test: fn(&VisitFacts) -> bool| visits.values().filter(|v| test(v)).count() as u64;
    let (total, full) = (visits.len() as u64, number(|v| v.fully_reported));
    // where no table lists visits, none is expected on a date of records
    let lacking = if has_visits_table { total - full } else { 0 };
    let named = if lacking > 0 { DATES_NAMED } else { 0 };
    let partial = visits.iter().filter(|(_, v)| !v.fully_reported);
    let own_gaps = gaps.iter().filter(|g| g.site == site);
    let (records, species) = found_at(site, sources);
    SiteReport {
        site: site.to_owned(),
        visits: total,
        gap_visits: own_gaps.map(|g| g.visits).sum(),
        targeted: all.len() as u64 - total,
        fully_reported: full,
        with_effort: number(|v| v.effort.is_some()),
        span: span(&visits),
        dates_without_visit: partial.map(|(date, _)| *date).take(named).collect(),
        dates_without_visit_total: lacking,
        records,
        species,
        zeros: zeros(full, total),
    }
}

/// The first and the last date.
fn span(visits: &BTreeMap<NaiveDate, &VisitFacts>) -> Option<(NaiveDate, NaiveDate)> {
    let first = visits.first_key_value()?.0;
    let last = visits.last_key_value()?.0;
    Some((*first, *last))
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
    use crate::visit::{Days, OfVisit};
    use ObserverRule::Add;

    fn days(dates: &[(i32, u32, u32)], effort: Option<f64>) -> Arc<DaysBySite> {
        let mut days = Days::new();
        for &(y, m, d) in dates {
            let date = NaiveDate::from_ymd_opt(y, m, d).unwrap();
            days.entry(date).or_default().add_row(OfVisit {
                effort,
                ..OfVisit::default()
            });
        }
        Arc::new(DaysBySite::from([("bank".to_owned(), days)]))
    }

    fn merging(overlap: OverlapRule) -> Merging {
        Merging {
            use_targeted: false,
            overlap,
        }
    }

    /// A partial visit of an hour, and a fully reported one of two hours: which is it?
    #[test]
    fn a_visit_that_two_counts_sources_tell_of() {
        let source = |minutes, full| {
            let days = days(&[(2011, 5, 1)], Some(minutes));
            Dated::Counts(days, Add, full)
        };
        let (partial, full) = (source(60.0, false), source(120.0, true));
        for (rule, sources, expected) in [
            (OverlapRule::Largest, [&partial, &full], (true, Some(120.0))),
            (OverlapRule::Add, [&partial, &full], (true, Some(180.0))),
            (OverlapRule::First, [&partial, &full], (false, Some(60.0))),
            (OverlapRule::First, [&full, &partial], (true, Some(120.0))),
        ] {
            let visits = visits(sources, "bank", merging(rule));
            let told = visits.values().map(|v| (v.fully_reported, v.effort));
            assert_eq!(told.collect::<Vec<_>>(), [expected], "{rule:?}");
        }
    }

    #[test]
    fn visits_of_several_sources() {
        let dated = [
            Dated::Counts(days(&[(2011, 5, 1), (2011, 5, 2)], Some(30.0)), Add, false),
            Dated::Visits(days(&[(2011, 5, 1), (2011, 5, 3)], Some(60.0)), Add),
            Dated::Counts(days(&[(2011, 5, 4)], None), Add, true),
        ];
        let visits = visits(&dated, "bank", merging(OverlapRule::Largest));
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
