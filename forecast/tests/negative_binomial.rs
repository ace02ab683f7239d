//! The distribution against a slow oracle: probabilities by their recurrence, summed one by one.

use forecast::negative_binomial::{Dispersion, ln_tail};
use proptest::prelude::*;

/// P(0), P(1), ... P(last) from P(y + 1) = P(y) (y + theta)/(y + 1) mu/(theta + mu).
fn oracle(dispersion: Dispersion, mu: f64, last: u32) -> Vec<f64> {
    let mut p = match dispersion {
        Dispersion::Poisson => (-mu).exp(),
        Dispersion::Theta(t) => (t / (t + mu)).powf(t),
    };
    let mut all = vec![p];
    for y in 0..last {
        let y = f64::from(y);
        p *= match dispersion {
            Dispersion::Poisson => mu / (y + 1.0),
            Dispersion::Theta(t) => (y + t) / (y + 1.0) * mu / (t + mu),
        };
        all.push(p);
    }
    all
}

fn dispersion() -> impl Strategy<Value = Dispersion> {
    prop_oneof![
        Just(Dispersion::Poisson),
        (-3.0..6.0f64).prop_map(|t| Dispersion::Theta(t.exp())),
    ]
}

proptest! {
    #[test]
    fn probabilities_agree_with_the_recurrence(d in dispersion(), log_mu in -6.0..5.0f64, y in 0u32..300) {
        let mu = log_mu.exp();
        let slow = oracle(d, mu, y);
        let p = slow[y as usize];
        // the recurrence underflows before the logarithm does
        prop_assume!(p > 1e-290);
        let fast = d.ln_pmf(y, mu);
        prop_assert!((fast - p.ln()).abs() < 1e-10 * (1.0 + fast.abs()), "{fast} {}", p.ln());
        let below: f64 = slow.iter().sum();
        prop_assert!((d.cdf(y, mu) - below).abs() < 1e-11, "{} {below}", d.cdf(y, mu));
        prop_assert!((d.zero(mu) - slow[0]).abs() < 1e-13);
    }

    #[test]
    fn tails_agree_with_the_sum_of_what_lies_above(d in dispersion(), log_mu in -5.0..3.0f64, n in 1u32..40) {
        let mu = log_mu.exp();
        let slow = oracle(d, mu, 3000);
        let above: f64 = slow[n as usize..].iter().rev().sum();
        // what the oracle leaves out above its last count must not matter
        prop_assume!(slow[3000] < 1e-12 * above && above > 1e-200);
        prop_assert!((ln_tail(n, mu, d) - above.ln()).abs() < 1e-8, "{} {}", ln_tail(n, mu, d), above.ln());
    }

    #[test]
    fn quantiles_are_the_first_count_to_reach_their_part(d in dispersion(), log_mu in -4.0..4.0f64, p in 0.0..0.999f64) {
        let mu = log_mu.exp();
        let q = d.quantile(p, mu).expect("a quantile");
        let slow = oracle(d, mu, q);
        let reached: f64 = slow.iter().sum();
        prop_assert!(reached >= p - 1e-11);
        prop_assert!(q == 0 || reached - slow[q as usize] < p + 1e-11);
    }

    #[test]
    fn derivatives_by_log_theta_agree_with_differences(tau in -3.0..8.0f64, y in 0u32..400) {
        let at = |t: f64| Dispersion::Theta(t.exp());
        let h = 1e-4;
        let (first, second) = at(tau).ln_rising_by_tau(y);
        let slope = (at(tau + h).ln_rising(y) - at(tau - h).ln_rising(y)) / (2.0 * h);
        let bend = (at(tau + h).ln_rising_by_tau(y).0 - at(tau - h).ln_rising_by_tau(y).0) / (2.0 * h);
        prop_assert!((first - slope).abs() < 1e-6 * (1.0 + first.abs()), "{first} {slope}");
        prop_assert!((second - bend).abs() < 1e-6 * (1.0 + second.abs()), "{second} {bend}");
    }
}

/// Where sums over birds give way to gamma functions both must say the same.
#[test]
fn large_counts_join_smoothly() {
    for theta in [0.1, 1.0, 30.0, 1e4] {
        let d = Dispersion::Theta(theta);
        let summed = d.ln_rising(20_000) + (20_000.0f64 / theta).ln_1p();
        assert!(
            (summed / d.ln_rising(20_001) - 1.0).abs() < 1e-11,
            "{theta}"
        );
        let (first, second) = d.ln_rising_by_tau(20_000);
        let sum = theta + 20_000.0;
        let (next, bend) = (
            first - 20_000.0 / sum,
            second + 20_000.0 * theta / (sum * sum),
        );
        let far = d.ln_rising_by_tau(20_001);
        assert!(
            (next / far.0 - 1.0).abs() < 1e-9,
            "{theta}: {next} {}",
            far.0
        );
        assert!(
            (bend / far.1 - 1.0).abs() < 1e-5,
            "{theta}: {bend} {}",
            far.1
        );
    }
}

/// theta beyond all bounds is the Poisson distribution.
#[test]
fn the_limit_is_reached_without_loss() {
    for (y, mu) in [(0, 0.3), (4, 2.0), (90, 120.0)] {
        let near = Dispersion::Theta(1e12).ln_pmf(y, mu);
        let limit = Dispersion::Poisson.ln_pmf(y, mu);
        assert!((near - limit).abs() < 1e-7, "{near} {limit}");
    }
}
