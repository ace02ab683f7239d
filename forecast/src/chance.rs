//! The chance of finding at least one bird, from the long-term curve or from bare frequency.

use crate::calendar::DayOfYear;
use crate::series::CountSeries;
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

/// Probability that both of two species are found in the week, their years' effects taken as
/// independent.
pub fn together(a: Chances, b: Chances) -> f64 {
    a.week * b.week
}
