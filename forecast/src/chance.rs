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
/// species was found, (found + 1/2) / (visits + 1); of all visits where none fell so near.
pub fn from_frequency(series: &CountSeries, day: DayOfYear, visits_assumed: u32) -> Chances {
    let tally = |near: bool| {
        let told = series
            .known()
            .filter(|(v, _)| !near || v.day().distance(day) <= NEAR_DAYS);
        told.fold((0.0, 0.0), |(found, visits), (_, c)| {
            (
                found + f64::from(u8::from(c.found() == Some(true))),
                visits + 1.0,
            )
        })
    };
    let (found, visits) = match tally(true) {
        (_, 0.0) => tally(false),
        near => near,
    };
    let visit = (found + 0.5) / (visits + 1.0);
    Chances {
        visit,
        week: 1.0 - (1.0 - visit).powf(f64::from(visits_assumed)),
    }
}

/// Visits on so many days to either side of a date bear on its chance: a curve leans on them. A choice.
const LEANT_ON_DAYS: u16 = 30;
/// Of the counts known, so large a part may be finds on visits that would not have told of a search
/// in vain; it makes the odds of a find look larger by a quarter at the most. A choice.
const FINDS_ALONE_AT_MOST: f64 = 0.2;

/// Do the counts about a day tell how often the species was looked for in vain? Finds alone give no
/// chance. `unrecorded` is what the same visits tell of a species that was never found: a visit
/// that tells nothing of it names finds alone, unless it says of this species that it was not there.
pub fn tells_of_absence(series: &CountSeries, unrecorded: &CountSeries, day: DayOfYear) -> bool {
    let near = series.iter().zip(unrecorded.iter());
    let near = near.filter(|((v, _), _)| v.day().distance(day) <= LEANT_ON_DAYS);
    let (mut known, mut alone, mut in_vain) = (0, 0, false);
    for ((_, count), (_, none)) in near {
        let Some(found) = count.found() else {
            continue;
        };
        known += 1;
        if none == Count::Unknown {
            alone += usize::from(found);
            in_vain |= !found;
        }
    }
    known > 0 && (in_vain || alone as f64 <= FINDS_ALONE_AT_MOST * known as f64)
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

    /// Whether so many finds on lists of finds alone, and the counts on full lists, tell a chance
    /// on 1 May; the last visit of the former says what `last` does.
    fn told(finds: usize, full: &[u32], last: Count) -> bool {
        let date = |i: usize| NaiveDate::from_ymd_opt(2000 + i as i32, 5, 1).unwrap();
        let n = finds + full.len() + 1;
        let visits: Vec<Visit> = (0..n)
            .map(|i| Visit {
                date: date(i),
                log_effort_ratio: 0.0,
            })
            .collect();
        let full = || full.iter().map(|c| Count::Exactly(*c));
        let mut counts: Vec<Count> = full().collect();
        counts.extend(vec![Count::Exactly(3); finds]);
        counts.push(last);
        let mut none: Vec<Count> = full().map(|_| Count::Exactly(0)).collect();
        none.extend(vec![Count::Unknown; finds + 1]);
        let series = |c| CountSeries::new(visits.clone().into(), c).unwrap();
        let day = DayOfYear::of(date(0));
        tells_of_absence(&series(counts), &series(none), day)
    }

    #[test]
    fn finds_alone_tell_no_chance() {
        assert!(!told(1, &[], Count::Unknown));
        assert!(!told(0, &[], Count::Unknown), "nothing known is no chance");
        assert!(told(0, &[0, 2, 0], Count::Unknown));
        assert!(
            told(0, &[2, 2, 2], Count::Unknown),
            "found on every full list"
        );
        // 2 of 10 counts known are finds alone, then 3 of 11
        assert!(told(2, &[0, 0, 0, 0, 0, 0, 0, 1], Count::Unknown));
        assert!(!told(3, &[0, 0, 0, 0, 0, 0, 0, 1], Count::Unknown));
        // a nought written down says that the lists name what was not there
        assert!(told(3, &[], Count::Exactly(0)));
    }

    #[test]
    fn what_lies_far_from_the_day_tells_nothing_of_it() {
        let date = |m| NaiveDate::from_ymd_opt(2020, m, 1).unwrap();
        let visits: Vec<Visit> = [2, 5]
            .map(|m| Visit {
                date: date(m),
                log_effort_ratio: 0.0,
            })
            .to_vec();
        let series = |c: [Count; 2]| CountSeries::new(visits.clone().into(), c.to_vec()).unwrap();
        let counts = series([Count::Exactly(0), Count::Exactly(4)]);
        let none = series([Count::Exactly(0), Count::Unknown]);
        let told = |m| tells_of_absence(&counts, &none, DayOfYear::of(date(m)));
        assert!(told(2) && !told(5));
    }
}
