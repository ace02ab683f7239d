//! What is decided of each half-year of a site, once, when its visits are first loaded.
//!
//! A half-year with visits and without any record is a gap. Were that asked anew at each load,
//! records that go would turn a half-year that forecasts were made from into one that was never
//! visited, and those forecasts could not be repeated. So the first decision holds. Only records
//! that reach a gap change it: they are news.

use crate::gaps::VisitFacts;
use crate::report::{Gap, HalfYear, HalfYearNote, HalfYearTold};
use chrono::{DateTime, NaiveDate, Utc};
use config::settings::Site;
use std::collections::{BTreeMap, BTreeSet};

/// What was decided of a half-year.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Decision {
    pub(crate) site: String,
    pub(crate) half: HalfYear,
    pub(crate) gap: bool,
    pub(crate) decided_at: DateTime<Utc>,
}

/// Decisions in force, by site and half-year.
pub(crate) type Decisions = BTreeMap<(String, HalfYear), Decision>;

/// What a load finds and decides over all sites.
#[derive(Debug, Default)]
pub(crate) struct Settled {
    /// Half-years that count as not visited.
    pub(crate) gaps: Vec<Gap>,
    /// What people should know of them.
    pub(crate) notes: Vec<HalfYearNote>,
    /// Decisions that were not in force before.
    pub(crate) new: Vec<Decision>,
}

/// Visit dates and count rows of a half-year.
#[derive(Debug, Clone, Copy, Default)]
struct Held {
    visits: u64,
    records: u64,
}

fn held(visits: &BTreeMap<NaiveDate, VisitFacts>) -> BTreeMap<HalfYear, Held> {
    let mut halves: BTreeMap<HalfYear, Held> = BTreeMap::new();
    for (date, facts) in visits {
        let held = halves.entry(HalfYear::of(*date)).or_default();
        held.visits += 1;
        held.records += u64::from(facts.records);
    }
    halves
}

impl Settled {
    /// Decides over the half-years of a site.
    pub(crate) fn site(
        &mut self,
        site: &Site,
        visits: &BTreeMap<NaiveDate, VisitFacts>,
        kept: &Decisions,
        now: DateTime<Utc>,
    ) {
        for (half, held) in held(visits) {
            let former = kept.get(&(site.id.clone(), half));
            let gap = decide(half, held, former.map(|d| d.gap), now);
            if let Some(gap) = gap.filter(|gap| former.is_none_or(|d| d.gap != *gap)) {
                self.new.push(Decision {
                    site: site.id.clone(),
                    half,
                    gap,
                    decided_at: now,
                });
            }
            let place = (half.year, half.half);
            let stated = match site.half_years.gaps.contains(&place) {
                true => Some(true),
                false => site.half_years.visited.contains(&place).then_some(false),
            };
            let told = told(held, former, gap.unwrap_or(false), stated);
            if stated.or(gap).unwrap_or(false) {
                self.gaps.push(Gap {
                    site: site.id.clone(),
                    half,
                    visits: held.visits,
                });
            }
            self.notes.extend(told.map(|told| HalfYearNote {
                site: site.id.clone(),
                half,
                visits: held.visits,
                records: held.records,
                told,
            }));
        }
    }
}

/// Half-years with records of which no visit stands in the site's visits table, whose half-years
/// are `listed`: a part of the table may be missing.
pub(crate) fn without_visits(
    site: &Site,
    visits: &BTreeMap<NaiveDate, VisitFacts>,
    listed: &BTreeSet<HalfYear>,
) -> Vec<HalfYearNote> {
    let stated = |half: HalfYear| site.half_years.gaps.contains(&(half.year, half.half));
    let unlisted = held(visits).into_iter().filter(|(half, held)| {
        held.records > 0 && !listed.is_empty() && !listed.contains(half) && !stated(*half)
    });
    let note = |(half, held): (HalfYear, Held)| HalfYearNote {
        site: site.id.clone(),
        half,
        visits: held.visits,
        records: held.records,
        told: HalfYearTold::CountsWithoutVisits,
    };
    unlisted.map(note).collect()
}

/// Is it a gap? None where that is open: a half-year still running may yet have its first bird.
fn decide(half: HalfYear, held: Held, former: Option<bool>, now: DateTime<Utc>) -> Option<bool> {
    match former {
        _ if held.records > 0 => Some(false),
        Some(gap) => Some(gap),
        None => (half < HalfYear::of(now.date_naive())).then_some(true),
    }
}

/// What is to be said where a half-year is not simply what its records make it.
fn told(
    held: Held,
    former: Option<&Decision>,
    gap: bool,
    stated: Option<bool>,
) -> Option<HalfYearTold> {
    match stated {
        Some(true) => Some(HalfYearTold::GapAsStated),
        Some(false) if gap => Some(HalfYearTold::VisitedAsStated),
        _ => {
            let former = former?;
            if former.gap && !gap {
                Some(HalfYearTold::NoLongerGap)
            } else if !former.gap && held.records == 0 {
                Some(HalfYearTold::StaysVisited {
                    since: former.decided_at,
                })
            } else {
                None
            }
        }
    }
}

/// Decisions as a load would have made them of what a store of an older version holds: its gaps
/// are known, and a half-year with records was no gap.
pub(crate) fn of_older_store(
    site: &str,
    visits: &BTreeMap<NaiveDate, VisitFacts>,
    gaps: &[Gap],
    decided_at: DateTime<Utc>,
) -> Vec<Decision> {
    let is_gap = |half| gaps.iter().any(|g| g.site == site && g.half == half);
    let decided = held(visits).into_iter().filter_map(|(half, held)| {
        let gap = is_gap(half);
        (gap || held.records > 0).then(|| Decision {
            site: site.to_owned(),
            half,
            gap,
            decided_at,
        })
    });
    decided.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const HALF: HalfYear = HalfYear {
        year: 2011,
        half: 2,
    };

    #[test]
    fn the_first_decision_holds_until_records_reach_a_gap() {
        let over = "2012-01-01T00:00:00Z".parse().unwrap();
        let running = "2011-12-31T23:00:00Z".parse().unwrap();
        let held = |records| Held { visits: 3, records };
        for (records, former, now, expected) in [
            (0, None, running, None),
            (2, None, running, Some(false)),
            (0, None, over, Some(true)),
            (2, None, over, Some(false)),
            (0, Some(false), over, Some(false)),
            (0, Some(true), over, Some(true)),
            (2, Some(true), over, Some(false)),
        ] {
            let decided = decide(HALF, held(records), former, now);
            assert_eq!(decided, expected, "{records} {former:?} {now}");
        }
    }
}
