//! Count regression: what no reference table of the check book covers.

use forecast::negative_binomial::Dispersion;
use forecast::regression::{CountData, Scatter};
use nalgebra::DMatrix;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson};
use rand_pcg::Pcg64Mcg;

const THETA: f64 = 1.7;
const TRUTH: [f64; 3] = [0.8, -0.5, 0.9];

/// An intercept, a trend and a yes-or-no, with an offset; counts of the given theta.
fn simulated(n: usize, seed: u64, theta: Option<f64>) -> (DMatrix<f64>, Vec<f64>, Vec<u32>) {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let columns = DMatrix::from_fn(n, 3, |i, j| match j {
        0 => 1.0,
        1 => i as f64 / n as f64,
        _ => f64::from(i % 3 == 0),
    });
    let offset: Vec<f64> = (0..n).map(|i| if i % 2 == 0 { 0.3 } else { 0.0 }).collect();
    let mut draw = |i: usize| {
        let eta: f64 = (0..3).map(|j| columns[(i, j)] * TRUTH[j]).sum();
        let mean = (eta + offset[i]).exp();
        let rate = theta.map_or(mean, |t| {
            let gamma = Gamma::new(t, mean / t).expect("a gamma");
            gamma.sample(&mut random).max(1e-12)
        });
        Poisson::new(rate).expect("a rate").sample(&mut random) as u32
    };
    let counts = (0..n).map(&mut draw).collect();
    (columns, offset, counts)
}

#[test]
fn the_truth_lies_within_what_the_standard_errors_say() {
    let (columns, offset, counts) = simulated(3000, 7, Some(THETA));
    let data = CountData::new(columns, offset, counts).expect("data");
    let fit = data.fit(Scatter::Estimated).expect("a fit");
    for ((found, truth), error) in fit.coefficients.iter().zip(TRUTH).zip(&fit.standard_errors) {
        assert!(
            (found - truth).abs() < 3.0 * error,
            "{found} {truth} {error}"
        );
    }
    let theta = fit.dispersion.theta().expect("a theta");
    let error = fit.theta_standard_error.expect("its error");
    assert!((theta - THETA).abs() < 3.0 * error, "{theta} {error}");
}

/// Standard errors hold over repetitions: coverage, not only points.
#[test]
fn nine_intervals_in_ten_hold_the_truth() {
    let mut held = 0;
    for seed in 0..200 {
        let (columns, offset, counts) = simulated(300, seed, Some(THETA));
        let data = CountData::new(columns, offset, counts).expect("data");
        let fit = data.fit(Scatter::Estimated).expect("a fit");
        held +=
            usize::from((fit.coefficients[1] - TRUTH[1]).abs() < 1.645 * fit.standard_errors[1]);
    }
    // 180 are to be expected, with a standard deviation of 4.2
    assert!((167..=193).contains(&held), "{held} of 200");
}

/// No step in any direction does better.
#[test]
fn the_likelihood_is_at_its_highest() {
    let (columns, offset, counts) = simulated(400, 3, Some(THETA));
    let data = CountData::new(columns.clone(), offset.clone(), counts.clone()).expect("data");
    let fit = data.fit(Scatter::Estimated).expect("a fit");
    let theta = fit.dispersion.theta().expect("a theta");
    let likelihood = |beta: &[f64], theta: f64| -> f64 {
        let d = Dispersion::Theta(theta);
        let row = |i: usize| {
            let eta: f64 = (0..3).map(|j| columns[(i, j)] * beta[j]).sum();
            d.ln_pmf(counts[i], (eta + offset[i]).exp())
        };
        (0..counts.len()).map(row).sum()
    };
    let best = likelihood(&fit.coefficients, theta);
    assert!((best - fit.log_likelihood).abs() < 1e-8 * best.abs());
    for step in [-0.01, 0.01] {
        for j in 0..3 {
            let mut beta = fit.coefficients.clone();
            beta[j] += step;
            assert!(likelihood(&beta, theta) < best);
        }
        assert!(likelihood(&fit.coefficients, theta * (1.0 + step)) < best);
    }
}

/// Counts that scatter less than a Poisson end at its limit and agree with a Poisson regression.
#[test]
fn narrow_scatter_ends_at_the_poisson_limit() {
    let (columns, offset, _) = simulated(200, 1, None);
    let mean = |i: usize| {
        let eta: f64 = (0..3).map(|j| columns[(i, j)] * TRUTH[j]).sum();
        (eta + offset[i]).exp().round() as u32
    };
    let counts: Vec<u32> = (0..200).map(mean).collect();
    let data = CountData::new(columns, offset, counts).expect("data");
    let free = data.fit(Scatter::Estimated).expect("a fit");
    let poisson = data
        .fit(Scatter::Known(Dispersion::Poisson))
        .expect("a fit");
    assert_eq!(free.dispersion, Dispersion::Poisson);
    assert_eq!(free.coefficients, poisson.coefficients);
    assert_eq!(free.parameters, 3);
    // whatever theta, however large, is close to it
    let near = data
        .fit(Scatter::Known(Dispersion::Theta(1e9)))
        .expect("a fit");
    assert!((near.log_likelihood - poisson.log_likelihood).abs() < 1e-4);
    assert!((near.deviance - poisson.deviance).abs() < 1e-4);
}

#[test]
fn what_cannot_be_fitted_is_refused() {
    let ones = |n| DMatrix::from_element(n, 1, 1.0);
    assert!(CountData::new(ones(3), vec![0.0; 3], vec![1, 2]).is_err());
    assert!(CountData::new(ones(3), vec![0.0, f64::NAN, 0.0], vec![1, 2, 3]).is_err());
    assert!(CountData::new(DMatrix::zeros(3, 0), vec![0.0; 3], vec![1, 2, 3]).is_err());
    let nothing = CountData::new(ones(3), vec![0.0; 3], vec![0; 3]).expect("data");
    let error = nothing.fit(Scatter::Estimated).expect_err("no birds");
    assert!(error.to_string().contains("no bird"), "{error}");
    let twice = DMatrix::from_element(4, 2, 1.0);
    let same = CountData::new(twice, vec![0.0; 4], vec![1, 5, 2, 9]).expect("data");
    assert!(same.fit(Scatter::Estimated).is_err());
    let mut random = Pcg64Mcg::seed_from_u64(2);
    let noise = DMatrix::from_fn(4, 5, |_, _| random.random_range(0.0..1.0));
    assert!(CountData::new(noise, vec![0.0; 4], vec![1, 5, 2, 9]).is_err());
}
