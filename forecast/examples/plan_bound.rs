//! How long a plan takes and how near the best it is: 60 dates at 3 sites, 40 targets, 12 visits,
//! in invented seasons of spring and autumn.
//!
//! `cargo run --release -p forecast --example plan_bound`

#![allow(clippy::disallowed_types)] // the clock is what this is about

use chrono::{Duration, NaiveDate};
use forecast::outlook::Constants;
use forecast::plan::scenarios::{SCENARIOS, probabilities};
use forecast::plan::{Candidate, Reach, Rules, choose};
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;
use std::time::Instant;

const DATES: i64 = 60;
const SITES: usize = 3;
const TARGETS: usize = 40;
const VISITS: usize = 12;

/// A passage: peak and width in days, birds at its height, and the scatter of counts.
struct Passage {
    peak: f64,
    width: f64,
    top: f64,
    theta: f64,
}

fn main() {
    println!("seed rules   seconds  value  at most    gap");
    for seed in 1..=5 {
        let mut random = Pcg64Mcg::seed_from_u64(seed);
        let candidates: Vec<Candidate> = (0..DATES)
            .flat_map(|d| (0..SITES).map(move |site| (d, site)))
            .map(|(d, site)| Candidate {
                date: first() + Duration::days(d),
                site,
            })
            .collect();
        let reach = invented(&candidates, &mut random);
        let free = Rules::new(VISITS).expect("visits");
        let tight = free
            .clone()
            .gap(5)
            .and_then(|r| r.per_week(2))
            .expect("rules");
        for (name, rules) in [("one team", free), ("gap, week", tight)] {
            let begun = Instant::now();
            let plan = choose(&reach, &candidates, &[], &rules);
            let seconds = begun.elapsed().as_secs_f64();
            println!(
                "{seed:>4} {name:<9} {seconds:>5.2} {:>7.3} {:>8.3} {:>5.2} %",
                plan.value,
                plan.at_most,
                100.0 * plan.gap()
            );
        }
    }
}

fn first() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 8, 15).expect("a date")
}

/// Passages that peak somewhere in the 60 days, 4 to 14 days wide, from scarce to common.
fn invented(candidates: &[Candidate], random: &mut Pcg64Mcg) -> Reach {
    let passages: Vec<Passage> = (0..TARGETS)
        .map(|_| Passage {
            peak: random.random_range(-5.0..65.0),
            width: random.random_range(4.0..14.0),
            top: f64::exp(random.random_range(-3.0..2.0)),
            theta: random.random_range(0.3..1.5),
        })
        .collect();
    let sites: Vec<Vec<f64>> = (0..SITES)
        .map(|_| {
            (0..TARGETS)
                .map(|_| f64::exp(random.random_range(-1.5..0.5)))
                .collect()
        })
        .collect();
    let probabilities = probabilities(&Constants::default());
    // shifts of 2.7 days and levels of 0.6 by five points each, as a season has before it begins
    let points = [-2.86, -1.36, 0.0, 1.36, 2.86];
    let ways: Vec<(f64, f64)> = points
        .iter()
        .flat_map(|a| points.iter().map(move |b| (2.7 * a, 0.6 * b)))
        .chain([(0.0, 0.0)])
        .collect();
    assert_eq!(ways.len(), SCENARIOS);
    let row = |c: &Candidate| -> Vec<f64> {
        let at = (c.date - first()).num_days() as f64;
        let none = |t: usize, (shift, level): (f64, f64)| {
            let p = &passages[t];
            let bell = -0.5 * ((at - p.peak - shift) / p.width).powi(2);
            let mean = p.top * sites[c.site][t] * (bell + level).exp();
            (1.0 + mean / p.theta).powf(-p.theta)
        };
        (0..TARGETS)
            .flat_map(|t| ways.iter().map(move |w| (t, *w)))
            .map(|(t, w)| none(t, w))
            .collect()
    };
    let rows: Vec<Vec<f64>> = candidates.iter().map(row).collect();
    Reach::new(&[1.0; TARGETS], &probabilities, rows).expect("chances")
}
