//! Several rows of one visit become one.

use chrono::NaiveDate;
use forecast::series::Count;
use std::collections::BTreeMap;

/// What the rows of one source tell of a site's visit on one date.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Day {
    /// Rows that tell of it.
    pub(crate) rows: u32,
    /// The different efforts that they give, in the source's unit.
    efforts: Vec<f64>,
}

/// A site's visit dates.
pub(crate) type Days = BTreeMap<NaiveDate, Day>;

impl Day {
    pub(crate) fn add_row(&mut self, effort: Option<f64>) {
        self.rows += 1;
        self.efforts
            .extend(effort.filter(|e| !self.efforts.contains(e)));
    }

    pub(crate) fn efforts_differ(&self) -> bool {
        self.efforts.len() > 1
    }

    /// Effort by a visits table, where each row is a search of the site: different efforts add
    /// up, and a row with an effort that stands already repeats it. None where not recorded.
    pub(crate) fn effort_of_searches(&self) -> Option<f64> {
        self.efforts.iter().copied().reduce(|a, b| a + b)
    }

    /// Effort by a counts table, where each row repeats the effort of its visit: where rows
    /// disagree, the largest stands. None where not recorded.
    pub(crate) fn effort_of_records(&self) -> Option<f64> {
        self.efforts.iter().copied().reduce(f64::max)
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

#[cfg(test)]
mod tests {
    use super::*;
    use Count::*;

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
    fn efforts_of_one_date() {
        let mut day = Day::default();
        for effort in [Some(60.0), None, Some(60.0)] {
            day.add_row(effort);
        }
        assert_eq!((day.rows, day.efforts_differ()), (3, false));
        assert_eq!(day.effort_of_searches(), Some(60.0));
        day.add_row(Some(30.0));
        assert!(day.efforts_differ());
        assert_eq!(day.effort_of_searches(), Some(90.0));
        assert_eq!(day.effort_of_records(), Some(60.0));
        assert_eq!(Day::default().effort_of_searches(), None);
    }
}
