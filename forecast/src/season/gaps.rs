//! Days in mid-season on which nobody looked. A gap that holds all of a passage leaves nothing to tell
//! (`looked`); one that holds a part of it leaves what was counted on the other days.

use chrono::{Duration, NaiveDate};

/// Days between two visits, or before the first one, of which a part of a passage fell into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gap {
    /// First day without a visit.
    pub first: NaiveDate,
    /// Last day without one.
    pub last: NaiveDate,
}

/// Pauses longer than usual between the season's visits, `own`, of which the days when birds may have
/// been about are by themselves as many as those of such a pause: a day or two at the edge tell next to
/// nothing. `opened` is the day before other seasons' first visits.
pub(super) fn gaps(
    own: &[NaiveDate],
    opened: Option<NaiveDate>,
    about: (NaiveDate, NaiveDate),
    usual_pause: i64,
) -> Vec<Gap> {
    let first = own.first().copied();
    let before = opened.filter(|opened| first.is_some_and(|f| *opened < f));
    let visits: Vec<NaiveDate> = before.into_iter().chain(own.iter().copied()).collect();
    let pauses = visits.windows(2).map(|pair| (pair[0], pair[1]));
    let day = Duration::days(1);
    let within = |from: NaiveDate, to: NaiveDate| {
        let (from, to) = (from.max(about.0 - day), to.min(about.1 + day));
        (to - from).num_days()
    };
    pauses
        .filter(|(from, to)| within(*from, *to) > usual_pause)
        .map(|(from, to)| Gap {
            first: from + day,
            last: to - day,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(day: i64) -> NaiveDate {
        NaiveDate::from_ymd_opt(2020, 8, 1).unwrap() + Duration::days(day)
    }

    /// Gaps of birds about from the 30th to the 60th day, by the days of their ends.
    fn told(own: &[i64], opened: Option<i64>) -> Vec<(i64, i64)> {
        let own: Vec<NaiveDate> = own.iter().map(|d| day(*d)).collect();
        let number = |date: NaiveDate| (date - day(0)).num_days();
        let gaps = gaps(&own, opened.map(day), (day(30), day(60)), 7);
        gaps.iter()
            .map(|g| (number(g.first), number(g.last)))
            .collect()
    }

    #[test]
    fn a_pause_longer_than_usual_is_told_with_its_days() {
        assert_eq!(told(&[30, 37, 44, 52, 59], None), [(45, 51)]);
        assert_eq!(told(&[30, 37, 44, 51, 58, 65], None), []);
        assert_eq!(told(&[28, 40, 41, 59], None), [(29, 39), (42, 58)]);
    }

    #[test]
    fn only_days_when_birds_may_be_about_make_a_gap() {
        // twenty days without a visit, six of them in the passage, and then seven
        assert_eq!(told(&[15, 36, 42, 49, 56], None), []);
        assert_eq!(told(&[15, 37, 42, 49, 56], None), [(16, 36)]);
        assert_eq!(told(&[31, 38, 45, 52, 54, 80], None), []);
        assert_eq!(told(&[31, 38, 45, 52, 53, 80], None), [(54, 79)]);
        assert_eq!(told(&[0, 20, 62, 90], None), [(21, 61)]);
    }

    #[test]
    fn days_before_the_first_visit_are_a_gap_once_others_had_begun() {
        assert_eq!(told(&[40, 45, 50, 57], Some(9)), [(10, 39)]);
        assert_eq!(told(&[40, 45, 50, 57], Some(36)), []);
        assert_eq!(told(&[40, 45, 50, 57], None), []);
        // it began before others did
        assert_eq!(told(&[5, 29, 36, 43, 50, 57], Some(9)), []);
        assert_eq!(told(&[], Some(9)), []);
    }
}
