//! "At least" and "present" mean what they say: on simulated counts with known truth the curve
//! comes out right, and closer than where such counts are taken for exact ones.

use chrono::NaiveDate;
use forecast::calendar::DayOfYear;
use forecast::negative_binomial::Dispersion;
use forecast::series::{Count, CountSeries, Visit};
use forecast::year_curve::{Params, YearCurve, fit};
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson};
use rand_pcg::Pcg64Mcg;
use std::sync::Arc;

const THETA: f64 = 2.0;
const CAP: u32 = 5;

/// One broad passage about day 140.
fn log_mean(day: DayOfYear) -> f64 {
    2.2 - 0.5 * ((f64::from(day.get()) - 140.0) / 18.0).powi(2)
}

fn drawn(random: &mut Pcg64Mcg, mean: f64) -> u32 {
    let gamma = Gamma::new(THETA, mean / THETA)
        .expect("a gamma")
        .sample(random);
    Poisson::new(gamma.max(1e-9))
        .expect("a mean")
        .sample(random) as u32
}

/// Visits every third day from day 90 to 190 of fifteen years, with the birds that were there.
fn simulated(seed: u64) -> (Arc<[Visit]>, Vec<u32>) {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut visits = Vec::new();
    let mut birds = Vec::new();
    for year in 2001..2016 {
        let start = 90 + random.random_range(0..3);
        for day in (start..190).step_by(3) {
            let date = NaiveDate::from_yo_opt(year, day).expect("a date");
            visits.push(Visit {
                date,
                log_effort_ratio: 0.0,
            });
            birds.push(drawn(&mut random, log_mean(DayOfYear::of(date)).exp()));
        }
    }
    (visits.into(), birds)
}

fn fitted(visits: &Arc<[Visit]>, counts: Vec<Count>) -> YearCurve {
    let series = CountSeries::new(visits.clone(), counts).expect("a series");
    let params = Params::default().check().expect("knots");
    fit(&series, &params).expect("a curve").curve
}

/// Over the days when birds are to be expected.
fn root_mean_square(off: impl Fn(DayOfYear) -> f64) -> f64 {
    let days: Vec<u16> = (105..=175).collect();
    let square = |day: &u16| off(DayOfYear::try_from(*day).expect("a day")).powi(2);
    (days.iter().map(square).sum::<f64>() / days.len() as f64).sqrt()
}

/// Root mean square error of the log mean.
fn error(visits: &Arc<[Visit]>, counts: Vec<Count>) -> f64 {
    let curve = fitted(visits, counts);
    root_mean_square(|day| curve.log_mean[day.index()] - log_mean(day))
}

/// Errors with all numbers known, with uncertain ones taken as such, and taken for exact.
fn errors(seed: u64, note: fn(u32) -> Count, mistake: fn(Count) -> Count) -> [f64; 3] {
    let (visits, birds) = simulated(seed);
    let known = birds.iter().map(|n| Count::Exactly(*n)).collect();
    let noted: Vec<Count> = birds.iter().map(|n| note(*n)).collect();
    let mistaken = noted.iter().map(|c| mistake(*c)).collect();
    [known, noted, mistaken].map(|counts| error(&visits, counts))
}

fn mean_errors(note: fn(u32) -> Count, mistake: fn(Count) -> Count) -> [f64; 3] {
    let all: Vec<[f64; 3]> = (1..=8).map(|seed| errors(seed, note, mistake)).collect();
    [0, 1, 2].map(|i| all.iter().map(|e| e[i]).sum::<f64>() / all.len() as f64)
}

#[test]
fn at_least_recovers_the_truth() {
    let note = |n| {
        if n >= CAP {
            Count::AtLeast(CAP)
        } else {
            Count::Exactly(n)
        }
    };
    let [known, noted, mistaken] = mean_errors(note, |c| Count::Exactly(c.birds()));
    assert!(noted < 0.25, "{known} {noted} {mistaken}");
    assert!(mistaken > 2.0 * noted, "{known} {noted} {mistaken}");
}

#[test]
fn present_recovers_the_truth() {
    // every other visit with birds is noted without a number
    let note = |n| {
        if n % 2 == 1 {
            Count::Present
        } else {
            Count::Exactly(n)
        }
    };
    let [known, noted, mistaken] = mean_errors(note, |c| Count::Exactly(c.birds()));
    assert!(mistaken > 1.5 * noted, "{known} {noted} {mistaken}");
}

/// Found or not says nothing of numbers, yet all of the chance to find: that must come out right,
/// while an unlucky theta may not keep the fit from its end.
#[test]
fn found_or_not_keeps_the_chance() {
    let truth = Dispersion::Theta(THETA);
    for seed in 1..=8 {
        let (visits, birds) = simulated(seed);
        let found: Vec<bool> = birds.iter().map(|n| *n > 0).collect();
        let off = |yes: Count| {
            let note = |f: &bool| if *f { yes } else { Count::Exactly(0) };
            let curve = fitted(&visits, found.iter().map(note).collect());
            root_mean_square(|day| {
                let chance = 1.0 - curve.dispersion.zero(curve.log_mean[day.index()].exp());
                chance - (1.0 - truth.zero(log_mean(day).exp()))
            })
        };
        let (noted, mistaken) = (off(Count::Present), off(Count::Exactly(1)));
        // six degrees of freedom on 350 finds and failures leave sqrt(6 / 350) / 2
        assert!(noted < 0.09, "seed {seed}: {noted}");
        assert!(mistaken > 2.0 * noted, "seed {seed}: {mistaken} {noted}");
    }
}
