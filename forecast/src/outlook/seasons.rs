//! The stretches of the year that are forecast as one season each: what a site's species do
//! there has one level and one timing.

use crate::calendar::DAYS;
use crate::passage::cut::{Stretch, UNWATCHED_DAYS};
use crate::series::CountSeries;
use crate::watched::Watched;
use std::ops::Range;

/// Longer stretches than this hold more than one movement and are cut at their quietest day.
const LONGEST_DAYS: usize = 200;
/// No season is shorter than this unless the watch is.
const SHORTEST_DAYS: usize = 60;
/// Turnover compares the days this far before and after.
const REACH_DAYS: usize = 10;

/// The site's seasons in order of the year: watched stretches between gaps, long ones cut where
/// the species' numbers change least in the given years. Found from the data, so either
/// hemisphere will do.
pub fn seasons(watched: &Watched, species: &[&CountSeries], years: &Range<i32>) -> Vec<Stretch> {
    let gaps: Vec<(usize, usize)> = watched
        .runs(false)
        .into_iter()
        .filter(|(_, length)| *length >= UNWATCHED_DAYS)
        .collect();
    let turnover = turnover(species, years);
    let mut seasons = if gaps.is_empty() {
        two_halves(&turnover)
    } else {
        let runs = (0..gaps.len()).map(|i| {
            let first = (gaps[i].0 + gaps[i].1) % DAYS;
            let next = gaps[(i + 1) % gaps.len()].0;
            let length = (next + DAYS - first) % DAYS;
            (
                first,
                if length == 0 {
                    DAYS - gaps[i].1
                } else {
                    length
                },
            )
        });
        runs.flat_map(|(first, length)| split(first, length, &turnover))
            .collect()
    };
    seasons.sort_by_key(|s| s.first);
    seasons
}

fn stretch(first: usize, length: usize) -> Stretch {
    Stretch {
        first: first % DAYS,
        length,
        after_gap: false,
        before_gap: false,
    }
}

fn split(first: usize, length: usize, turnover: &[f64]) -> Vec<Stretch> {
    if length <= LONGEST_DAYS {
        return vec![stretch(first, length)];
    }
    let inner = SHORTEST_DAYS..length - SHORTEST_DAYS;
    let quiet =
        inner.min_by(|a, b| turnover[(first + a) % DAYS].total_cmp(&turnover[(first + b) % DAYS]));
    let at = quiet.unwrap_or(length / 2);
    let mut parts = split(first, at, turnover);
    parts.extend(split(first + at, length - at, turnover));
    parts
}

/// The pair of days, a third of the year apart or more, across which least changes.
fn two_halves(turnover: &[f64]) -> Vec<Stretch> {
    let least = DAYS / 3;
    let pairs =
        (0..DAYS).flat_map(|a| (a + least..(a + DAYS - least).min(DAYS)).map(move |b| (a, b)));
    let cost = |(a, b): &(usize, usize)| turnover[*a] + turnover[*b];
    let (a, b) = pairs
        .min_by(|x, y| cost(x).total_cmp(&cost(y)))
        .unwrap_or((0, DAYS / 2));
    vec![stretch(a, b - a), stretch(b, DAYS - (b - a))]
}

/// By day of the year: how much the species' shares of their year's birds differ between the
/// days before and the days after, summed over species.
fn turnover(species: &[&CountSeries], years: &Range<i32>) -> Vec<f64> {
    let mut total = vec![0.0; DAYS];
    for series in species {
        let mut birds = vec![0.0; DAYS];
        let mut visits = vec![0.0; DAYS];
        for (visit, count) in series.known().filter(|(v, _)| years.contains(&v.year())) {
            birds[visit.day().index()] += f64::from(count.birds()).ln_1p();
            visits[visit.day().index()] += 1.0;
        }
        let mean = |from: usize| {
            let days = || (0..REACH_DAYS).map(|i| (from + i) % DAYS);
            let n: f64 = days().map(|d| visits[d]).sum();
            if n > 0.0 {
                days().map(|d| birds[d]).sum::<f64>() / n
            } else {
                0.0
            }
        };
        let scale: f64 = birds.iter().sum::<f64>() / visits.iter().sum::<f64>().max(1.0);
        if scale > 0.0 {
            for (day, sum) in total.iter_mut().enumerate() {
                *sum += (mean(day) - mean(day + DAYS - REACH_DAYS)).abs() / scale;
            }
        }
    }
    total
}
