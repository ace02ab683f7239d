//! Several rows of one visit become one.

mod kept;

pub(crate) use kept::{KeptDates, KeptDays};

use chrono::NaiveDate;
use config::meaning::{ObserverRule, Purpose};
use forecast::series::Count;
use std::collections::BTreeMap;

/// What a row says of its visit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct OfVisit {
    /// In the source's unit.
    pub(crate) effort: Option<f64>,
    /// Where the row or its source states one.
    pub(crate) purpose: Option<Purpose>,
    /// Where the row states it.
    pub(crate) fully_reported: Option<bool>,
    /// Number of its observer among those of the visit, from 1; 0 where none is written.
    pub(crate) party: u32,
}

/// What the rows of one source tell of a site on one date.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Day {
    searches: Vec<Search>,
}

/// The rows of one party for one purpose.
#[derive(Debug, Clone, PartialEq)]
struct Search {
    purpose: Option<Purpose>,
    party: u32,
    rows: u32,
    /// The different efforts that they give, in the source's unit.
    efforts: Vec<f64>,
    fully_reported: Option<bool>,
    /// A refused row, whose species cannot be read, belongs to it.
    unread: bool,
}

/// A site's visit dates.
pub(crate) type Days = BTreeMap<NaiveDate, Day>;

impl Day {
    pub(crate) fn add_row(&mut self, row: OfVisit) {
        let search = self.search(row);
        search.rows += 1;
        let known = &mut search.efforts;
        known.extend(row.effort.filter(|e| !known.contains(e)));
        search.fully_reported = both(search.fully_reported, row.fully_reported);
    }

    /// A refused row that may have told of any species.
    pub(crate) fn add_unread(&mut self, row: OfVisit) {
        self.search(row).unread = true;
    }

    fn search(&mut self, row: OfVisit) -> &mut Search {
        let same = |s: &Search| s.purpose == row.purpose && s.party == row.party;
        let place = self.searches.iter().position(same).unwrap_or_else(|| {
            self.searches.push(Search {
                purpose: row.purpose,
                party: row.party,
                rows: 0,
                efforts: Vec::new(),
                fully_reported: None,
                unread: false,
            });
            self.searches.len() - 1
        });
        &mut self.searches[place]
    }

    /// Rows that tell of it.
    pub(crate) fn rows(&self) -> u32 {
        self.searches.iter().map(|s| s.rows).sum()
    }

    pub(crate) fn efforts_differ(&self) -> bool {
        self.searches.iter().any(|s| s.efforts.len() > 1)
    }

    /// Did more than one party take part?
    pub(crate) fn parties_differ(&self) -> bool {
        let mut known = self.searches.iter().map(|s| s.party).filter(|p| *p > 0);
        let first = known.next();
        known.any(|party| Some(party) != first)
    }

    /// Is there a search for that purpose, where an unstated one means `unstated`?
    pub(crate) fn has(&self, purpose: Purpose, unstated: Purpose) -> bool {
        let own = |s: &Search| s.purpose.unwrap_or(unstated) == purpose;
        self.searches.iter().any(own)
    }

    /// What was done for that purpose, or for any where None; None where nothing was.
    pub(crate) fn part(
        &self,
        purpose: Option<Purpose>,
        unstated: Purpose,
        rule: ObserverRule,
    ) -> Option<Part<'_>> {
        let meant = |s: &&Search| {
            let own = s.purpose.unwrap_or(unstated);
            purpose.is_none_or(|wanted| wanted == own)
        };
        let searches: Vec<&Search> = self.searches.iter().filter(meant).collect();
        (!searches.is_empty()).then_some(Part { searches, rule })
    }
}

/// The searches of a date for one purpose.
pub(crate) struct Part<'d> {
    searches: Vec<&'d Search>,
    rule: ObserverRule,
}

impl Part<'_> {
    /// Effort by a visits table, where each row is a search of the site: different efforts of a
    /// party add up, and a row with an effort that stands already repeats it. None where not
    /// recorded.
    pub(crate) fn effort_of_searches(&self) -> Option<f64> {
        self.effort(|a, b| a + b)
    }

    /// Effort by a counts table, where each row repeats the effort of its visit: where rows of a
    /// party disagree, the largest stands. None where not recorded.
    pub(crate) fn effort_of_records(&self) -> Option<f64> {
        self.effort(f64::max)
    }

    fn effort(&self, within: fn(f64, f64) -> f64) -> Option<f64> {
        let parties = self.searches.iter();
        let parties = parties.filter_map(|s| s.efforts.iter().copied().reduce(within));
        match self.rule {
            ObserverRule::Add => parties.reduce(|a, b| a + b),
            ObserverRule::Largest => parties.reduce(f64::max),
        }
    }

    /// What rows state: no where any does, else yes where any does.
    pub(crate) fn fully_reported(&self) -> Option<bool> {
        let stated = self.searches.iter().map(|s| s.fully_reported);
        stated.fold(None, both)
    }

    pub(crate) fn unread(&self) -> bool {
        self.searches.iter().any(|s| s.unread)
    }
}

/// A visit is fully reported only if nothing says that it is not.
pub(crate) fn both(a: Option<bool>, b: Option<bool>) -> Option<bool> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a && b),
        (a, b) => a.or(b),
    }
}

/// Two rows of one species on one visit as one count; None beyond `u32::MAX` birds.
///
/// Numbers add up. A sum is "at least" where a part is, or where birds without a number come on
/// top of counted ones; else it is "about" where a part is. A species that was found in one row
/// was found, whatever another row says.
pub(crate) fn combine(a: Count, b: Count) -> Option<Count> {
    use Count::*;
    Some(match (a, b) {
        (Unknown, other) | (other, Unknown) => other,
        (Present, Present) => Present,
        (Present, other) | (other, Present) => match other.birds() {
            0 => Present,
            n => AtLeast(n),
        },
        (a, b) => {
            let n = a.birds().checked_add(b.birds())?;
            match (a, b) {
                (AtLeast(_), _) | (_, AtLeast(_)) => AtLeast(n),
                (About(_), _) | (_, About(_)) => About(n),
                _ => Exactly(n),
            }
        }
    })
}

/// Two parties' counts of the same birds: the larger stands; of equal ones, the surer.
pub(crate) fn larger(a: Count, b: Count) -> Count {
    use Count::*;
    let sure = |count: Count| match count {
        Exactly(_) => 3,
        About(_) => 2,
        AtLeast(_) => 1,
        Present | Unknown => 0,
    };
    let order = |count: Count| (count != Unknown, count.birds(), sure(count));
    if order(a) >= order(b) { a } else { b }
}

/// A visit's count of a species of which a row was refused: birds may be missing from it.
pub(crate) fn with_refused(count: Count) -> Count {
    match count {
        Count::Exactly(n) | Count::About(n) | Count::AtLeast(n) if n > 0 => Count::AtLeast(n),
        Count::Present => Count::Present,
        _ => Count::Unknown,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Count::*;
    use ObserverRule::{Add, Largest};
    use Purpose::{Standard, Targeted};

    #[test]
    fn rows_of_one_species_on_one_visit() {
        let cases = [
            (Exactly(2), Exactly(3), Exactly(5)),
            (Exactly(0), Exactly(3), Exactly(3)),
            (Exactly(0), Present, Present),
            (Exactly(4), Present, AtLeast(4)),
            (About(4), Present, AtLeast(4)),
            (AtLeast(4), Present, AtLeast(4)),
            (Present, Present, Present),
            (Exactly(2), About(10), About(12)),
            (Exactly(2), AtLeast(10), AtLeast(12)),
            (About(2), AtLeast(10), AtLeast(12)),
            (Unknown, Present, Present),
        ];
        for (a, b, expected) in cases {
            assert_eq!(combine(a, b), Some(expected), "{a:?} {b:?}");
            assert_eq!(combine(b, a), Some(expected), "{b:?} {a:?}");
        }
        assert_eq!(combine(Exactly(u32::MAX), About(1)), None);
    }

    #[test]
    fn counts_of_the_same_birds() {
        let cases = [
            (Exactly(2), Exactly(3), Exactly(3)),
            (Exactly(3), AtLeast(3), Exactly(3)),
            (Exactly(0), Present, Present),
            (Present, Exactly(1), Exactly(1)),
            (About(4), AtLeast(9), AtLeast(9)),
            (Unknown, Exactly(0), Exactly(0)),
        ];
        for (a, b, expected) in cases {
            assert_eq!(larger(a, b), expected, "{a:?} {b:?}");
            assert_eq!(larger(b, a), expected, "{b:?} {a:?}");
        }
    }

    #[test]
    fn counts_with_a_refused_row() {
        let cases = [
            (Exactly(0), Unknown),
            (Unknown, Unknown),
            (Exactly(3), AtLeast(3)),
            (About(3), AtLeast(3)),
            (Present, Present),
        ];
        for (count, expected) in cases {
            assert_eq!(with_refused(count), expected, "{count:?}");
        }
    }

    fn row(effort: Option<f64>, party: u32) -> OfVisit {
        OfVisit {
            effort,
            party,
            ..OfVisit::default()
        }
    }

    fn efforts(day: &Day, rule: ObserverRule) -> (Option<f64>, Option<f64>) {
        let part = day.part(None, Standard, rule).unwrap();
        (part.effort_of_searches(), part.effort_of_records())
    }

    #[test]
    fn efforts_of_one_date() {
        let mut day = Day::default();
        for effort in [Some(60.0), None, Some(60.0)] {
            day.add_row(row(effort, 0));
        }
        assert_eq!((day.rows(), day.efforts_differ()), (3, false));
        assert_eq!(efforts(&day, Add), (Some(60.0), Some(60.0)));
        day.add_row(row(Some(30.0), 0));
        assert!(day.efforts_differ() && !day.parties_differ());
        assert_eq!(efforts(&day, Add), (Some(90.0), Some(60.0)));
        assert!(Day::default().part(None, Standard, Add).is_none());
    }

    #[test]
    fn efforts_of_several_parties() {
        let mut day = Day::default();
        day.add_row(row(Some(60.0), 1));
        day.add_row(row(Some(60.0), 2));
        day.add_row(row(Some(30.0), 2));
        assert!(day.parties_differ());
        assert_eq!(efforts(&day, Add), (Some(150.0), Some(120.0)));
        assert_eq!(efforts(&day, Largest), (Some(90.0), Some(60.0)));
    }

    #[test]
    fn purposes_and_reporting_of_one_date() {
        let mut day = Day::default();
        let targeted = |full| OfVisit {
            purpose: Some(Targeted),
            fully_reported: full,
            ..OfVisit::default()
        };
        day.add_row(targeted(Some(true)));
        assert!(!day.has(Standard, Standard) && day.has(Targeted, Standard));
        day.add_row(OfVisit::default());
        assert!(day.has(Standard, Standard) && !day.has(Standard, Targeted));
        day.add_row(targeted(Some(false)));
        let part = |purpose| day.part(purpose, Standard, Add).unwrap().fully_reported();
        assert_eq!(part(Some(Targeted)), Some(false));
        assert_eq!(part(Some(Standard)), None);
    }
}
