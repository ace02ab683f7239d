//! The chance of finding at least one bird, from the long-term curve or from bare frequency.

use crate::calendar::DayOfYear;
use crate::series::{Count, CountSeries};
use crate::share::NEAR_DAYS;
use crate::year_curve::YearCurve;

/// Probabilities of finding at least one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chances {
    /// On one standard visit, on a day of the week picked evenly.
    pub visit: f64,
    /// On at least one of the week's assumed visits.
    pub week: f64,
}

/// From the curve: the year to come has an effect of its own, so the chance is averaged over
/// the distribution of the years' effects; within a year visits scatter independently.
pub fn from_curve(curve: &YearCurve, days: &[DayOfYear], visits_assumed: u32) -> Chances {
    let mut none_on_visit = 0.0;
    let mut none_in_week = 0.0;
    for (effect, weight) in normal_nodes(curve.year_effect_sd) {
        let zero = |d: &DayOfYear| {
            curve
                .dispersion
                .zero((curve.log_mean[d.index()] + effect).exp())
        };
        let none = days.iter().map(zero).sum::<f64>() / days.len().max(1) as f64;
        none_on_visit += weight * none;
        none_in_week += weight * none.powf(f64::from(visits_assumed));
    }
    Chances {
        visit: 1.0 - none_on_visit,
        week: 1.0 - none_in_week,
    }
}

/// Nodes and weights of a centred normal: the trapezium rule over five standard deviations,
/// exact to better than 1e-6 for smooth functions.
fn normal_nodes(sd: f64) -> Vec<(f64, f64)> {
    if sd <= 0.0 {
        return vec![(0.0, 1.0)];
    }
    let density = |i: i32| {
        let z = f64::from(i) / 8.0;
        (z * sd, (-0.5 * z * z).exp())
    };
    let nodes: Vec<(f64, f64)> = (-40..=40).map(density).collect();
    let total: f64 = nodes.iter().map(|(_, w)| w).sum();
    nodes.into_iter().map(|(z, w)| (z, w / total)).collect()
}

/// Without a curve: the smoothed part of visits within 7 days of the day of year on which the
/// species was found, (found + 1/2) / (visits + 1); of all visits where none fell so near. Finds on
/// visits that name finds alone are left out, as in [`tells_of_absence`].
pub fn from_frequency(
    series: &CountSeries,
    unrecorded: &CountSeries,
    day: DayOfYear,
    visits_assumed: u32,
) -> Chances {
    let tally = |near: bool| {
        let counts = told(series, unrecorded);
        Tally::of(counts.filter(|t| !near || t.day.distance(day) <= NEAR_DAYS))
    };
    let tally = match tally(true) {
        Tally { telling: 0, .. } => tally(false),
        near => near,
    };
    let visit = (tally.found as f64 + 0.5) / (tally.telling as f64 + 1.0);
    Chances {
        visit,
        week: 1.0 - (1.0 - visit).powf(f64::from(visits_assumed)),
    }
}

/// Visits on so many days to either side of a date bear on its chance: a curve leans on them. A choice.
const LEANT_ON_DAYS: u16 = 30;
/// For each find on a visit that would have told of a search in vain, so many on visits that would
/// not: the part of visits with a find then has odds larger by a quarter at the most. A choice.
const ALONE_FOR_EACH_FOUND: f64 = 0.25;
/// A curve that rests on finds alone at other times of the year is held down about a date by so many
/// visits that tell. A choice.
const LEAST_TELLING: usize = 10;

/// Do the counts about a day tell how often the species was looked for in vain? Finds alone give no
/// chance. `unrecorded` is what the same visits tell of a species that was never found: a visit
/// that tells nothing of it names finds alone, unless it says of this species that it was not there.
/// Such a nought is one visit that tells; it says nothing for the finds of other visits.
pub fn tells_of_absence(series: &CountSeries, unrecorded: &CountSeries, day: DayOfYear) -> bool {
    let counts = || told(series, unrecorded);
    let near = Tally::of(counts().filter(|t| t.day.distance(day) <= LEANT_ON_DAYS));
    let least = match Tally::of(counts()).bears_its_finds_alone() {
        true => 1,
        false => LEAST_TELLING,
    };
    near.telling >= least && near.bears_its_finds_alone()
}

/// What a visit tells of a species.
struct Told {
    day: DayOfYear,
    found: bool,
    /// Would it have told of a search in vain?
    full: bool,
}

/// What is known of a species, visit by visit.
fn told<'a>(
    series: &'a CountSeries,
    unrecorded: &'a CountSeries,
) -> impl Iterator<Item = Told> + 'a {
    let both = series.iter().zip(unrecorded.iter());
    both.filter_map(|((visit, count), (_, none))| {
        Some(Told {
            day: visit.day(),
            found: count.found()?,
            full: none != Count::Unknown,
        })
    })
}

/// Visits by what they tell of a species.
#[derive(Debug, Default)]
struct Tally {
    /// They say that it was found or that it was not, whichever it was.
    telling: usize,
    /// It was found on so many of these.
    found: usize,
    /// It was found on so many that would not have told of a search in vain.
    alone: usize,
}

impl Tally {
    fn of(visits: impl Iterator<Item = Told>) -> Self {
        visits.fold(Tally::default(), |mut tally, visit| {
            match visit.found && !visit.full {
                true => tally.alone += 1,
                false => {
                    tally.telling += 1;
                    tally.found += usize::from(visit.found);
                }
            }
            tally
        })
    }

    fn bears_its_finds_alone(&self) -> bool {
        self.alone as f64 <= ALONE_FOR_EACH_FOUND * self.found as f64
    }
}

/// Probability that both of two species are found in the week, their years' effects taken as
/// independent.
pub fn together(a: Chances, b: Chances) -> f64 {
    a.week * b.week
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::series::Visit;
    use chrono::NaiveDate;
    use std::sync::Arc;

    /// Visits a year apart, on that day and month: on full lists with these counts, on lists of finds
    /// alone with those; then what the same visits tell of a species never found.
    fn series(on: (u32, u32), full: &[u32], alone: &[Count]) -> (CountSeries, CountSeries) {
        let date = |i: usize| NaiveDate::from_ymd_opt(1980 + i as i32, on.1, on.0).unwrap();
        let visit = |i| Visit {
            date: date(i),
            log_effort_ratio: 0.0,
        };
        let visits: Arc<[Visit]> = (0..full.len() + alone.len()).map(visit).collect();
        let mut counts: Vec<Count> = full.iter().map(|c| Count::Exactly(*c)).collect();
        let mut none = vec![Count::Exactly(0); full.len()];
        counts.extend(alone);
        none.extend(vec![Count::Unknown; alone.len()]);
        let series = |c| CountSeries::new(visits.clone(), c).unwrap();
        (series(counts), series(none))
    }

    fn on(day: u32, month: u32) -> DayOfYear {
        DayOfYear::of(NaiveDate::from_ymd_opt(2021, month, day).unwrap())
    }

    /// Whether so many finds on lists of finds alone, and the counts on full lists, tell a chance
    /// on 1 May; the last visit of the former says what `last` does.
    fn tells(finds: usize, full: &[u32], last: Count) -> bool {
        let mut alone = vec![Count::Exactly(3); finds];
        alone.push(last);
        let (counts, none) = series((1, 5), full, &alone);
        tells_of_absence(&counts, &none, on(1, 5))
    }

    #[test]
    fn finds_alone_tell_no_chance() {
        assert!(!tells(1, &[], Count::Unknown));
        assert!(!tells(0, &[], Count::Unknown), "nothing known is no chance");
        assert!(tells(0, &[0, 2, 0], Count::Unknown));
        assert!(
            tells(0, &[2, 2, 2], Count::Unknown),
            "found on every full list"
        );
    }

    /// Odds of a find on full lists of 8 to 8; 2 finds more make them 10 to 8, larger by a quarter.
    #[test]
    fn finds_alone_are_borne_by_a_quarter_of_the_finds_on_full_lists() {
        let full: Vec<u32> = (0..16).map(|i| i % 2).collect();
        assert!(tells(2, &full, Count::Unknown));
        assert!(!tells(3, &full, Count::Unknown));
        // a stint on one of 16 full lists, and four of finds alone: five times the odds
        let mut one = [0; 16];
        one[3] = 1;
        assert!(tells(0, &one, Count::Unknown));
        assert!(!tells(1, &one, Count::Unknown));
        assert!(!tells(4, &one, Count::Unknown));
    }

    #[test]
    fn a_nought_among_finds_alone_is_one_visit_in_vain() {
        let nought = Count::Exactly(0);
        assert!(tells(0, &[], nought));
        for finds in [1, 3, 48] {
            assert!(!tells(finds, &[], nought), "{finds} finds and one nought");
        }
        let (counts, none) = series((1, 5), &[1, 0, 0], &[nought]);
        let chance = from_frequency(&counts, &none, on(1, 5), 1).visit;
        assert!((chance - 1.5 / 5.0).abs() < 1e-12, "{chance}");
    }

    /// 10.5 of 17 visits on full lists; the two finds alone would make it 12.5 of 19.
    #[test]
    fn a_bare_part_leaves_finds_alone_out() {
        let full: Vec<u32> = (0..16).map(|i| u32::from(i < 10)).collect();
        let (counts, none) = series((1, 5), &full, &[Count::Exactly(2); 2]);
        assert!(tells_of_absence(&counts, &none, on(1, 5)));
        let chance = from_frequency(&counts, &none, on(4, 5), 1).visit;
        assert!((chance - 10.5 / 17.0).abs() < 1e-12, "{chance}");
    }

    /// Finds alone of 10 September, and full lists or noughts of 25 October, which no curve that the
    /// finds lift comes down to but for many of them.
    #[test]
    fn what_lies_far_from_the_day_tells_little_of_it() {
        let told_in_october = |noughts: usize, full: bool| {
            let (finds, _) = series((10, 9), &[], &[Count::Exactly(4); 12]);
            let mut visits: Vec<Visit> = finds.iter().map(|(v, _)| *v).collect();
            visits.extend((0..noughts).map(|i| Visit {
                date: NaiveDate::from_ymd_opt(2001 + i as i32, 10, 25).unwrap(),
                log_effort_ratio: 0.0,
            }));
            let mut counts = vec![Count::Exactly(4); 12];
            counts.extend(vec![Count::Exactly(0); noughts]);
            let mut none = vec![Count::Unknown; 12];
            none.extend(vec![
                if full {
                    Count::Exactly(0)
                } else {
                    Count::Unknown
                };
                noughts
            ]);
            let visits: Arc<[Visit]> = visits.into();
            let series = |c| CountSeries::new(visits.clone(), c).unwrap();
            let (counts, none) = (series(counts), series(none));
            assert!(!tells_of_absence(&counts, &none, on(10, 9)));
            tells_of_absence(&counts, &none, on(25, 10))
        };
        for full in [true, false] {
            assert!(!told_in_october(1, full) && !told_in_october(9, full));
            assert!(told_in_october(10, full));
        }
    }
}
