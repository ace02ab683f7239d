use super::bootstrap::{Resampling, YearScore};
use super::*;
use crate::negative_binomial::Dispersion;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Normal as Draw, Poisson};
use rand_pcg::Pcg64Mcg;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};

fn random(seed: u64) -> Pcg64Mcg {
    Pcg64Mcg::seed_from_u64(seed)
}

fn issued(pairs: &[(f64, u8)]) -> Vec<Issued> {
    let one = |(chance, came): &(f64, u8)| Issued {
        chance: *chance,
        happened: *came == 1,
    };
    pairs.iter().map(one).collect()
}

/// P(Y <= 0), P(Y <= 1), ... until nothing is left, from a plain recurrence.
fn cdf_table(dispersion: Dispersion, mu: f64) -> Vec<f64> {
    let mut p = dispersion.zero(mu);
    let mut table = vec![p];
    let mut k = 0.0;
    while table[table.len() - 1] < 1.0 - 1e-13 && table.len() < 3_000_000 {
        p *= match dispersion {
            Dispersion::Poisson => mu / (k + 1.0),
            Dispersion::Theta(theta) => mu / (mu + theta) * (theta + k) / (k + 1.0),
        };
        k += 1.0;
        table.push(table[table.len() - 1] + p);
        if p < 1e-18 && k > mu {
            break;
        }
    }
    table
}

#[test]
fn counts_agree_with_the_plain_sum_whatever_the_mean_and_size() {
    let sizes = [0.03, 0.2, 0.8, 1.0, 3.7, 20.0, 900.0, 1e4];
    let sizes = sizes.map(Dispersion::Theta).into_iter();
    for dispersion in sizes.chain([Dispersion::Poisson]) {
        for mu in [1e-7, 0.01, 0.7, 4.0, 37.0, 400.0] {
            let table = cdf_table(dispersion, mu);
            for observed in [0u32, 1, 5, 60, 1500] {
                let slow = crps::discrete(&table, observed).expect("a whole table");
                let fast = crps::count(dispersion, mu, observed);
                let near = (fast - slow).abs() < 1e-8 * slow.max(1.0);
                assert!(near, "{dispersion:?} mu {mu} y {observed}: {fast} {slow}");
            }
        }
    }
}

#[test]
fn a_huge_mean_and_a_useless_one_are_scored_at_once() {
    // for sizes that grow the negative binomial runs into the Poisson
    let near = crps::mean_difference(Dispersion::Theta(1e14), 3e5);
    let limit = crps::mean_difference(Dispersion::Poisson, 3e5);
    assert!((near / limit - 1.0).abs() < 1e-8, "{near} {limit}");
    // for a huge mean into a gamma, whose mean difference at size 1 is its mean
    let wide = crps::mean_difference(Dispersion::Theta(1.0), 1e8);
    assert!((wide / 1e8 - 1.0).abs() < 1e-7, "{wide}");
    assert_eq!(crps::count(Dispersion::Theta(2.0), 0.0, 3), 3.0);
    assert!(crps::count(Dispersion::Theta(2.0), f64::INFINITY, 3).is_nan());
    assert!(crps::count(Dispersion::Poisson, -1.0, 3).is_nan());
}

#[test]
fn a_table_cut_short_is_refused() {
    assert!(crps::discrete(&[0.5, 0.9, 0.99], 1).is_err());
    assert!(crps::discrete(&[0.5, 0.4, 1.0], 1).is_err());
    assert!(crps::discrete(&[0.5, f64::NAN, 1.0], 1).is_err());
    assert!(crps::discrete(&[], 1).is_err());
    // a certain forecast of 1 bird, observed 5
    assert_eq!(crps::discrete(&[0.0, 1.0], 5), Ok(4.0));
    assert_eq!(crps::discrete(&[0.0, 1.0], 1), Ok(0.0));
}

#[test]
fn the_normal_score_is_its_integral() {
    let (forecast, observed) = (Normal::new(2.0, 1.7).expect("a normal"), 4.1);
    let step = 1e-3;
    let term = |i: i32| {
        let x = f64::from(i) * step;
        let came = if x >= observed { 1.0 } else { 0.0 };
        (forecast.cdf(x) - came).powi(2)
    };
    let slow = (-20_000..25_000).map(term).sum::<f64>() * step;
    assert!((crps::normal(&forecast, observed) - slow).abs() < 1e-3);
    let dense = log_score::normal(&forecast, observed);
    assert!((dense + forecast.pdf(observed).ln()).abs() < 1e-12);
}

#[test]
fn the_ensemble_score_is_the_sum_over_pairs() {
    let mut random = random(1);
    let members: Vec<f64> = (0..31).map(|_| random.random_range(-5.0..9.0)).collect();
    let m = members.len() as f64;
    let all_pairs: f64 = members
        .iter()
        .flat_map(|a| members.iter().map(move |b| (a - b).abs()))
        .sum();
    let distance: f64 = members.iter().map(|x| (x - 1.5f64).abs()).sum();
    let plain = distance / m - all_pairs / (2.0 * m * m);
    let fair = distance / m - all_pairs / (2.0 * m * (m - 1.0));
    assert!((crps::ensemble(&members, 1.5).expect("members") - plain).abs() < 1e-12);
    assert!((crps::fair_ensemble(&members, 1.5).expect("members") - fair).abs() < 1e-12);
    assert!(crps::fair_ensemble(&[1.0], 1.5).is_err());
    assert!(crps::ensemble(&[1.0, f64::NAN], 1.5).is_err());
}

#[test]
fn the_fair_score_does_not_reward_a_larger_ensemble() {
    let mut random = random(6);
    let truth = Draw::new(0.0, 1.0).expect("a normal");
    let mean = |m: usize, random: &mut Pcg64Mcg| -> f64 {
        let one = |_| {
            let members: Vec<f64> = (0..m).map(|_| truth.sample(random)).collect();
            crps::fair_ensemble(&members, truth.sample(random)).expect("members")
        };
        (0..40_000).map(one).sum::<f64>() / 40_000.0
    };
    // of the true normal: 1 / sqrt(pi); standard errors below 0.005
    for m in [2, 12] {
        let score = mean(m, &mut random);
        assert!(
            (score - 1.0 / std::f64::consts::PI.sqrt()).abs() < 0.02,
            "{m}: {score}"
        );
    }
}

#[test]
fn classes_must_be_whole() {
    assert!(crps::ranked_probability(&[0.2, 0.8], 2).is_err());
    assert!(crps::ranked_probability(&[0.2, 0.7], 0).is_err());
    assert!(crps::ranked_probability(&[-0.2, 1.2], 0).is_err());
    assert_eq!(crps::ranked_probability(&[0.0, 1.0], 1), Ok(0.0));
}

#[test]
fn murphys_parts_sum_to_the_score() {
    let mut random = random(2);
    let one = |_| Issued {
        chance: f64::from(random.random_range(0..=12)) / 12.0,
        happened: random.random_bool(0.3),
    };
    let many: Vec<Issued> = (0..500).map(one).collect();
    let b = brier::decompose(&many).expect("chances");
    let sum = b.reliability - b.resolution + b.uncertainty;
    assert!((b.brier - sum).abs() < 1e-12);
    assert!((b.brier - brier::score(&many).expect("chances")).abs() < 1e-15);
    let always = brier::decompose(&issued(&[(0.5, 1), (0.7, 1)])).expect("chances");
    assert_eq!(always.skill(), None);
    assert_eq!(b.skill_against(&b), Some(0.0));
}

#[test]
fn chances_are_chances() {
    for bad in [-0.01, 1.01, f64::NAN] {
        let bad = issued(&[(0.2, 0), (bad, 1)]);
        assert!(brier::score(&bad).is_err());
        assert!(log_score::log_loss(&bad).is_err());
        assert!(reliability::table(&bad).is_err());
    }
    assert!(brier::score(&[]).is_err());
    let ruled_out = log_score::log_loss(&issued(&[(0.0, 1)]));
    assert_eq!(ruled_out, Ok(f64::INFINITY));
    assert_eq!(log_score::log_loss(&issued(&[(0.0, 0), (1.0, 1)])), Ok(0.0));
}

#[test]
fn the_table_sorts_by_its_edges() {
    // 0.1 + 0.2 lies above 0.3 by rounding, 0.7 * 10 below 7
    let told = issued(&[
        (0.0, 0),
        (0.1, 0),
        (0.3, 1),
        (0.35, 0),
        (0.7, 1),
        (0.7, 1),
        (0.79, 0),
        (1.0, 1),
    ]);
    let table = reliability::table(&told).expect("chances");
    let sizes = table.bins.map(|b| b.forecasts);
    assert_eq!(sizes, [1, 1, 0, 2, 0, 0, 0, 3, 0, 1]);
    assert_eq!(table.bins[7].happened, 2);
    assert_eq!(table.bins[2].frequency(), None);
    assert_eq!(table.bin_of(0.7), Some(&table.bins[7]));
    assert_eq!(table.bin_of(1.0), Some(&table.bins[9]));
    assert_eq!(table.bin_of(-0.1), None);
    // by hand: (0 + 0.1 + 2 |0.325 - 0.5| + 3 |0.73 - 2/3| + 0) / 8
    let error = (0.1 + 2.0 * 0.175 + 3.0 * (0.73 - 2.0 / 3.0)) / 8.0;
    assert!((table.calibration_error - error).abs() < 1e-12);
}

#[test]
fn right_forecasts_have_an_even_transform_and_narrow_ones_do_not() {
    let mut random = random(3);
    let (theta, mu) = (1.3, 4.0);
    let rates = Gamma::new(theta, mu / theta).expect("a gamma");
    let mut draw = || {
        let rate: f64 = rates.sample(&mut random);
        Poisson::new(rate.max(1e-12))
            .expect("a rate")
            .sample(&mut random) as u32
    };
    let counts: Vec<u32> = (0..20_000).map(|_| draw()).collect();
    let pit = |d: Dispersion| {
        let steps: Vec<_> = counts
            .iter()
            .map(|y| pit::Step::of_count(d, mu, *y))
            .collect();
        pit::nonrandomised(&steps, 10).expect("steps").mass
    };
    // standard error 0.002 at most
    let even = pit(Dispersion::Theta(theta));
    assert!(even.iter().all(|m| (m - 0.1).abs() < 0.01), "{even:?}");
    let narrow = pit(Dispersion::Poisson);
    assert!(narrow[0] > 0.15 && narrow[9] > 0.15, "{narrow:?}");
    assert!((narrow.iter().sum::<f64>() - 1.0).abs() < 1e-12);
}

#[test]
fn a_transform_needs_steps_and_bins() {
    assert!(pit::nonrandomised(&[], 10).is_err());
    let (lower, upper) = (0.5, 0.4);
    assert!(pit::nonrandomised(&[pit::Step { lower, upper }], 10).is_err());
    let certain = pit::Step {
        lower: 0.0,
        upper: 1.0,
    };
    assert!(pit::nonrandomised(&[certain], 0).is_err());
    let even = pit::nonrandomised(&[certain], 4).expect("a step");
    assert_eq!(even.mass, vec![0.25; 4]);
}

#[test]
fn pinball_is_least_at_the_quantile() {
    let mut random = random(7);
    let values: Vec<f64> = (0..4001).map(|_| random.random_range(0.0..10.0)).collect();
    let loss = |q: f64| -> f64 {
        let one = |y: &f64| interval::pinball(q, 0.9, *y).expect("numbers");
        values.iter().map(one).sum()
    };
    assert!(loss(9.0) < loss(8.0) && loss(9.0) < loss(9.7));
    assert!(interval::pinball(1.0, 1.0, 2.0).is_err());
}

#[test]
fn intervals_are_scored_and_counted() {
    assert_eq!(interval::interval(2.0, 6.0, 0.2, 3.0), Ok(4.0));
    assert_eq!(interval::interval(2.0, 6.0, 0.2, 1.0), Ok(14.0));
    assert!(interval::interval(6.0, 2.0, 0.2, 1.0).is_err());
    assert!(interval::interval(2.0, 6.0, 0.0, 1.0).is_err());
    let mut coverage = interval::Coverage::default();
    assert_eq!(coverage.rate(), None);
    for y in [1.0, 2.0, 4.0, 6.0, 7.0] {
        coverage.add(2.0, 6.0, y);
    }
    assert_eq!((coverage.below, coverage.inside, coverage.above), (1, 3, 1));
    assert_eq!(coverage.rate(), Some(0.6));
}

#[test]
fn equal_forecasts_are_called_different_as_rarely_as_it_says() {
    let mut random = random(9);
    let noise = Draw::new(0.0, 1.0).expect("a normal");
    let mut rejected = [0; 2];
    for _ in 0..4000 {
        let white: Vec<f64> = (0..40).map(|_| noise.sample(&mut random)).collect();
        // two-step forecasts: neighbours correlate
        let overlapping: Vec<f64> = white.windows(2).map(|w| w[0] + w[1]).collect();
        for (i, (d, h)) in [(&white, 1), (&overlapping, 2)].into_iter().enumerate() {
            let p = diebold_mariano::diebold_mariano(d, h)
                .expect("varies")
                .p_value;
            rejected[i] += i32::from(p < 0.1);
        }
    }
    // binomial standard error 19; the two-step test is known to reject too often in small samples
    assert!((rejected[0] - 400).abs() < 60, "{rejected:?}");
    assert!((350..640).contains(&rejected[1]), "{rejected:?}");
    assert!(diebold_mariano::diebold_mariano(&[0.5; 9], 1).is_err());
    assert!(diebold_mariano::diebold_mariano(&[0.5, 1.0], 0).is_err());
    assert!(diebold_mariano::diebold_mariano(&[0.5, 1.0], 2).is_err());
}

const RESAMPLING: Resampling = Resampling {
    draws: 1000,
    level: 0.8,
    seed: 20,
};

/// Ten years of 50 scores; a year's own luck dwarfs that of its days.
fn years(random: &mut Pcg64Mcg) -> Vec<YearScore> {
    let luck = Draw::new(0.1, 0.3).expect("a normal");
    let mut scores = Vec::new();
    for year in 2001..2011 {
        let gain: f64 = luck.sample(random);
        for _ in 0..50 {
            scores.push((year, 2.0 - gain + random.random_range(-0.5..0.5), 2.0));
        }
    }
    bootstrap::by_year(scores)
}

#[test]
fn intervals_of_a_difference_take_in_that_years_hang_together() {
    let mut random = random(12);
    let mut held = 0;
    for _ in 0..300 {
        let d = bootstrap::difference(&years(&mut random), &RESAMPLING).expect("ten years");
        held += i32::from(d.low <= -0.1 && -0.1 <= d.high);
    }
    // 240 expected, a little fewer from ten years; resampling days would hold it some 50 times
    assert!((200..262).contains(&held), "{held}");
}

#[test]
fn skill_is_of_the_sums_and_repeats_with_its_seed() {
    let years = years(&mut random(13));
    assert_eq!(years.len(), 10);
    assert!(years.iter().all(|y| y.scored == 50 && y.reference == 100.0));
    let s = bootstrap::skill(&years, &RESAMPLING).expect("ten years");
    let ours: f64 = years.iter().map(|y| y.ours).sum();
    assert!((s.estimate - (1.0 - ours / 1000.0)).abs() < 1e-12);
    assert!(s.low < s.estimate && s.estimate < s.high);
    assert_eq!(bootstrap::skill(&years, &RESAMPLING), Ok(s));
    let other = Resampling {
        seed: 21,
        ..RESAMPLING
    };
    assert_ne!(bootstrap::skill(&years, &other), Ok(s));
}

#[test]
fn one_year_or_a_senseless_level_gives_no_interval() {
    let years = years(&mut random(14));
    assert!(bootstrap::skill(&years[..1], &RESAMPLING).is_err());
    for level in [0.0, 1.0, f64::NAN] {
        let other = Resampling {
            level,
            ..RESAMPLING
        };
        assert!(bootstrap::skill(&years, &other).is_err());
    }
    let perfect: Vec<YearScore> = years
        .iter()
        .map(|y| YearScore {
            reference: 0.0,
            ..*y
        })
        .collect();
    assert!(bootstrap::skill(&perfect, &RESAMPLING).is_err());
}

/// By hand: 0.7, 0.2, 0.1 and the second came: 0.49 + 0.64 + 0.01; for two outcomes twice the score
/// of one chance (Brier 1950).
#[test]
fn several_outcomes_add_up_their_squares() {
    let of = |chances: &[f64], came| brier::of_several(chances, came).expect("chances");
    assert!((of(&[0.7, 0.2, 0.1], 1) - 1.14).abs() < 1e-12);
    assert_eq!((of(&[1.0, 0.0], 0), of(&[1.0, 0.0], 1)), (0.0, 2.0));
    let one = Issued {
        chance: 0.3,
        happened: true,
    };
    assert!((of(&[0.3, 0.7], 0) - 2.0 * brier::of_one(&one)).abs() < 1e-12);
    for bad in [&[0.5, 0.4][..], &[1.2, -0.2], &[1.0], &[f64::NAN, 1.0]] {
        assert!(brier::of_several(bad, 0).is_err(), "{bad:?}");
    }
    assert!(brier::of_several(&[0.5, 0.5], 2).is_err());
}

/// Proper: whoever holds chances expects to lose least by giving them.
#[test]
fn nobody_gains_by_giving_other_chances_of_several() {
    let mut random = random(11);
    let mut chances = || {
        let lots: [f64; 4] = std::array::from_fn(|_| random.random::<f64>() + 1e-3);
        let sum: f64 = lots.iter().sum();
        lots.map(|l| l / sum)
    };
    let expected = |held: &[f64; 4], given: &[f64; 4]| -> f64 {
        let each = held.iter().enumerate();
        each.map(|(came, p)| p * brier::of_several(given, came).expect("chances"))
            .sum()
    };
    for _ in 0..500 {
        let (held, given) = (chances(), chances());
        assert!(expected(&held, &held) <= expected(&held, &given) + 1e-12);
    }
}
