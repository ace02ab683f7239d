//! How far a season was looked at. Counts that end in August tell nothing of September: without a
//! visit no bird is missing, and none has gone through.

use super::gaps::{Gap, gaps};
use super::named::first_day;
use crate::passage::cut::Stretch;
use crate::series::CountSeries;
use chrono::{Duration, NaiveDate};
use std::collections::BTreeMap;

/// A week without a visit is no gap, however often others went out. A choice: a site visited once a
/// week is watched.
pub const LEAST_PAUSE_DAYS: i64 = 7;
/// The part of a site's pauses between visits that are no longer than the usual one. A choice: one
/// pause in ten is a holiday or a storm, and what came in it was not seen either.
const USUAL: f64 = 0.9;

/// Up to when a season's visits tell of a species, and whether that is far enough.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Looked {
    /// The season's last visit, up to the day asked about, that tells of it.
    pub until: Option<NaiveDate>,
    /// The last day that ought to be known of: the one asked about, or before it the end of the
    /// passage's days, or of other seasons' visits.
    pub due: NaiveDate,
    /// Days from visit to visit that 9 of 10 pauses of other seasons do not exceed, and
    /// [`LEAST_PAUSE_DAYS`] at the least.
    pub usual_pause: i64,
    /// Days after the last visit of which nothing is known; 0 where they are no longer than usual.
    pub unknown_days: i64,
    /// No visit while birds of the passage may have been about, and that for longer than usual.
    pub missed: bool,
    /// Gaps between visits that hold a part of the passage's days, in order; none where it is missed.
    pub gaps: Vec<Gap>,
}

/// A season of a passage.
#[derive(Debug, Clone, Copy)]
pub struct Passing<'a> {
    /// Its stretch of the year.
    pub stretch: &'a Stretch,
    /// The year in which the stretch begins.
    pub season: i32,
    /// First and last day on which its birds may be about.
    pub about: (NaiveDate, NaiveDate),
}

/// The visits of one season, in days from the first of its stretch.
type Days = Vec<i64>;

impl Looked {
    /// Of a season up to a day, by the rhythm of the seasons wanted.
    pub fn of(
        series: &CountSeries,
        passing: &Passing,
        date: NaiveDate,
        wanted: impl Fn(i32) -> bool,
    ) -> Self {
        let mut seasons = by_season(series, passing.stretch);
        let begin = first_day(passing.stretch, passing.season);
        let mut own = seasons.remove(&passing.season).unwrap_or_default();
        own.retain(|day| begin + Duration::days(*day) <= date);
        let others: Vec<Days> = seasons
            .into_iter()
            .filter_map(|(year, days)| wanted(year).then_some(days))
            .collect();
        let due = due(&others, passing, date);
        let until = own.last().map(|day| begin + Duration::days(*day));
        let usual_pause = usual_pause(&others);
        // before the season's first visit, from when others had theirs
        let first = middle(others.iter().filter_map(|days| days.first().copied()));
        let opened = first.map(|first| begin + Duration::days(first - 1));
        let since = until.or(opened);
        let unknown = since.map_or(0, |since| (due - since).num_days());
        let own: Vec<NaiveDate> = own.iter().map(|day| begin + Duration::days(*day)).collect();
        let missed = missed(&own, passing.about, (opened, due), usual_pause);
        Looked {
            until,
            due,
            usual_pause,
            unknown_days: if unknown > usual_pause { unknown } else { 0 },
            missed,
            gaps: match missed {
                true => Vec::new(),
                false => gaps(&own, opened, passing.about, usual_pause),
            },
        }
    }

    /// Was nobody there for longer than usual, up to the last day that ought to be known of?
    pub fn is_stale(&self) -> bool {
        self.unknown_days > 0
    }

    /// The day whose part of the passage can be told: the one asked about, or the last visit's where
    /// that is too long ago.
    pub fn told_until(&self, date: NaiveDate) -> NaiveDate {
        match self.until {
            Some(until) if self.is_stale() => until,
            _ => date,
        }
    }
}

fn by_season(series: &CountSeries, stretch: &Stretch) -> BTreeMap<i32, Days> {
    let mut seasons: BTreeMap<i32, Days> = BTreeMap::new();
    for (visit, _) in series
        .known()
        .filter(|(v, _)| stretch.holds(v.day().index()))
    {
        let season = stretch.season_year(visit.date);
        let day = (visit.date - first_day(stretch, season)).num_days();
        seasons.entry(season).or_default().push(day);
    }
    seasons
}

/// Where other seasons' visits usually end, nobody is missed after.
fn due(others: &[Days], passing: &Passing, date: NaiveDate) -> NaiveDate {
    let due = date.min(passing.about.1);
    let begin = first_day(passing.stretch, passing.season);
    let last = middle(others.iter().filter_map(|days| days.last().copied()));
    last.map_or(due, |day| due.min(begin + Duration::days(day)))
}

/// Does a gap longer than usual hold all days on which birds may have been about so far? Where no visit
/// lies before them it begins when other seasons' visits do, `opened`.
fn missed(
    own: &[NaiveDate],
    about: (NaiveDate, NaiveDate),
    (opened, due): (Option<NaiveDate>, NaiveDate),
    usual_pause: i64,
) -> bool {
    if due < about.0 || own.iter().any(|d| (about.0..=about.1).contains(d)) {
        return false;
    }
    let before = own.iter().rfind(|d| **d < about.0).copied().or(opened);
    let after = own.iter().find(|d| **d > about.1).copied().unwrap_or(due);
    before.is_some_and(|before| (after - before).num_days() > usual_pause)
}

fn usual_pause(others: &[Days]) -> i64 {
    let pauses = others
        .iter()
        .flat_map(|days| days.windows(2).map(|pair| pair[1] - pair[0]));
    quantile(pauses.filter(|days| *days > 0), USUAL)
        .map_or(LEAST_PAUSE_DAYS, |days| days.max(LEAST_PAUSE_DAYS))
}

fn middle(days: impl Iterator<Item = i64>) -> Option<i64> {
    quantile(days, 0.5)
}

/// The least of them that so large a part does not exceed.
fn quantile(values: impl Iterator<Item = i64>, part: f64) -> Option<i64> {
    let mut sorted: Vec<i64> = values.collect();
    sorted.sort_unstable();
    let place = (part * sorted.len() as f64).ceil() as usize;
    sorted.get(place.saturating_sub(1)).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::series::{Count, Visit};

    /// August to November, a hundred days.
    const AUTUMN: Stretch = Stretch {
        first: 213,
        length: 100,
        after_gap: true,
        before_gap: true,
    };

    fn day(year: i32, day: i64) -> NaiveDate {
        first_day(&AUTUMN, year) + Duration::days(day)
    }

    /// Ten autumns visited every so many days, and one more up to a day.
    fn visited(every: usize, until: i64) -> CountSeries {
        let days = |year, last: i64| (0..=last).step_by(every).map(move |d| day(year, d));
        let dates = (2010..2020)
            .flat_map(|year| days(year, 90))
            .chain(days(2020, until));
        let visit = |date| Visit {
            date,
            log_effort_ratio: 0.0,
        };
        let visits: Vec<Visit> = dates.map(visit).collect();
        let counts = vec![Count::Exactly(1); visits.len()];
        CountSeries::new(visits.into(), counts).unwrap()
    }

    /// Of birds about from the 30th to the 60th day, on a day of the eleventh autumn.
    fn looked(series: &CountSeries, on: i64) -> Looked {
        let passing = Passing {
            stretch: &AUTUMN,
            season: 2020,
            about: (day(2020, 30), day(2020, 60)),
        };
        Looked::of(series, &passing, day(2020, on), |year| year < 2020)
    }

    #[test]
    fn a_pause_as_long_as_the_site_usually_makes_is_none() {
        for (every, pause) in [(1, 7), (5, 7), (10, 10)] {
            let series = visited(every, 40);
            assert_eq!(looked(&series, 40).usual_pause, pause, "{every}");
            assert!(!looked(&series, 40 + pause).is_stale(), "{every}");
            let after = looked(&series, 41 + pause);
            assert!(after.is_stale(), "{every}");
            assert_eq!(after.unknown_days, pause + 1);
            assert_eq!(after.told_until(day(2020, 41 + pause)), day(2020, 40));
        }
    }

    #[test]
    fn nothing_is_missed_after_the_birds_or_after_others_visits() {
        // visits end as the last birds may be about: ten weeks on, nothing is missed
        assert!(!looked(&visited(5, 55), 130).is_stale());
        // a day is no more than asked for
        let early = looked(&visited(5, 20), 22);
        assert_eq!((early.is_stale(), early.due), (false, day(2020, 22)));
        let passing = Passing {
            stretch: &AUTUMN,
            season: 2020,
            about: (day(2020, 80), day(2020, 99)),
        };
        let told = Looked::of(&visited(5, 85), &passing, day(2020, 99), |y| y < 2020);
        assert_eq!((told.due, told.is_stale()), (day(2020, 90), false));
    }

    #[test]
    fn a_passage_that_nobody_looked_at_is_missed_and_one_seen_in_part_is_not() {
        let told = |until, on| {
            let looked = looked(&visited(5, until), on);
            (looked.is_stale(), looked.missed, looked.unknown_days)
        };
        assert_eq!(told(10, 130), (true, true, 50));
        assert_eq!(told(40, 130), (true, false, 20));
        // the birds are not due yet
        assert_eq!(told(10, 25), (true, false, 15));
    }

    #[test]
    fn a_passage_in_a_gap_is_missed_though_somebody_came_after() {
        let whole = visited(5, 90);
        let kept = whole.iter().filter(|(v, _)| {
            let gap = day(2020, 26)..=day(2020, 64);
            !gap.contains(&v.date)
        });
        let (visits, counts): (Vec<Visit>, Vec<Count>) = kept.map(|(v, c)| (*v, c)).unzip();
        let gap = CountSeries::new(visits.into(), counts).unwrap();
        assert!(!looked(&whole, 90).missed && looked(&gap, 90).missed);
        assert_eq!(looked(&gap, 90).gaps, [], "nothing is left to tell");
        assert!(!looked(&gap, 90).is_stale());
        // by the 31st day the pause is none yet
        assert!(!looked(&gap, 31).missed && looked(&gap, 33).missed);
    }

    #[test]
    fn a_gap_in_a_part_of_a_passage_is_told_and_one_beside_it_is_not() {
        let whole = visited(5, 90);
        let without = |first, last| {
            let gap = day(2020, first)..=day(2020, last);
            let kept = whole.iter().filter(|(v, _)| !gap.contains(&v.date));
            let (visits, counts): (Vec<Visit>, Vec<Count>) = kept.map(|(v, c)| (*v, c)).unzip();
            let series = CountSeries::new(visits.into(), counts).unwrap();
            let told = looked(&series, 90);
            assert!(!told.missed && !told.is_stale());
            told.gaps
        };
        let gap = |first, last| Gap {
            first: day(2020, first),
            last: day(2020, last),
        };
        assert_eq!(without(41, 54), [gap(41, 54)]);
        assert_eq!(without(11, 44), [gap(11, 44)]);
        // from the season's first visit on, others having begun on that day
        assert_eq!(without(0, 44), [gap(0, 44)]);
        assert_eq!(without(41, 44), []);
        assert_eq!(without(61, 84), []);
        assert_eq!(looked(&whole, 90).gaps, []);
    }

    #[test]
    fn a_passage_before_the_first_visit_is_missed() {
        let whole = visited(5, 90);
        let late = whole.iter().filter(|(v, _)| {
            let shut = day(2020, 0)..=day(2020, 69);
            !shut.contains(&v.date)
        });
        let (visits, counts): (Vec<Visit>, Vec<Count>) = late.map(|(v, c)| (*v, c)).unzip();
        let late = CountSeries::new(visits.into(), counts).unwrap();
        assert!(
            late.known()
                .any(|(v, _)| v.date > day(2020, 70) && v.date <= day(2020, 90))
        );
        assert!(looked(&late, 90).missed);
    }

    #[test]
    fn a_season_without_a_visit_is_stale_once_others_had_begun() {
        let before = looked(&visited(5, -1), 5);
        assert_eq!((before.until, before.is_stale()), (None, false));
        let later = looked(&visited(5, -1), 45);
        assert!(later.is_stale() && later.missed);
        assert_eq!(later.unknown_days, 46);
        assert_eq!(later.told_until(day(2020, 45)), day(2020, 45));
    }
}
