//! Modified Bessel functions of the first kind and whole order, which the von Mises distribution
//! and the score of a Poisson forecast need and `statrs` does not have.

use std::f64::consts::TAU;

/// exp(-x) I_n(x) for x >= 0, to about 1e-15 of I_0; not a number for other x.
///
/// The integral of exp(x (cos t - 1)) cos(n t) over the circle (Abramowitz & Stegun 9.6.19) by
/// the rectangle rule, which for a periodic integrand is out by I_(N-n) + I_(N+n) only: with
/// N nodes, N >= 16 sqrt(x), that is below exp(-100).
pub fn scaled_i(order: u32, x: f64) -> f64 {
    if !(x >= 0.0 && x.is_finite()) {
        return f64::NAN;
    }
    let nodes = 64 + 2 * order + (16.0 * x.sqrt()).ceil() as u32;
    let step = TAU / f64::from(nodes);
    let term = |i: u32| {
        let t = f64::from(i) * step;
        // cos t - 1 = -2 sin^2(t/2), without cancellation
        (-2.0 * x * (t / 2.0).sin().powi(2)).exp() * (f64::from(order) * t).cos()
    };
    (0..nodes).map(term).sum::<f64>() / f64::from(nodes)
}

/// I_1(x) / I_0(x), the mean resultant length of a von Mises distribution of concentration x.
pub fn resultant_length(kappa: f64) -> f64 {
    scaled_i(1, kappa) / scaled_i(0, kappa)
}

/// The concentration whose [`resultant_length`] is `r`, 0 <= r < 1: the maximum likelihood
/// estimate (Mardia & Jupp 2000, section 5.3.1). Infinite for r = 1, not a number outside 0..=1.
pub fn concentration(r: f64) -> f64 {
    if !(0.0..=1.0).contains(&r) {
        return f64::NAN;
    }
    if r == 0.0 || r == 1.0 {
        return if r == 0.0 { 0.0 } else { f64::INFINITY };
    }
    // Banerjee et al. 2005 JMLR 6:1345, eq. 4.4, as a start; then Newton, A' = 1 - A/k - A^2
    let mut kappa = r * (2.0 - r * r) / (1.0 - r * r);
    for _ in 0..50 {
        let a = resultant_length(kappa);
        let step = (a - r) / (1.0 - a / kappa - a * a);
        if !step.is_finite() {
            break;
        }
        kappa = (kappa - step).max(kappa / 10.0);
        if step.abs() <= 1e-14 * kappa {
            break;
        }
    }
    kappa
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The power series, Abramowitz & Stegun 9.6.10: slow and only good for small x.
    fn by_series(order: u32, x: f64) -> f64 {
        let mut term = (1..=order).fold((-x).exp(), |t, i| t * x / 2.0 / f64::from(i));
        let mut sum = term;
        for k in 1..400u32 {
            term *= x * x / 4.0 / f64::from(k) / f64::from(k + order);
            sum += term;
        }
        sum
    }

    #[test]
    fn agrees_with_the_power_series() {
        for x in [0.0, 1e-6, 0.3, 1.0, 4.7, 20.0, 90.0] {
            for order in 0..4 {
                let (fast, slow) = (scaled_i(order, x), by_series(order, x));
                assert!((fast - slow).abs() < 2e-15, "I_{order}({x}): {fast} {slow}");
            }
        }
    }

    #[test]
    fn agrees_with_hankels_expansion_for_large_x() {
        // Abramowitz & Stegun 9.7.1
        for x in [2e3f64, 1e5, 3e7] {
            let first =
                1.0 + 1.0 / (8.0 * x) + 9.0 / (128.0 * x * x) + 225.0 / (3072.0 * x.powi(3));
            let slow = first / (TAU * x).sqrt();
            assert!((scaled_i(0, x) / slow - 1.0).abs() < 1e-11, "{x}");
        }
    }

    #[test]
    fn concentration_inverts_the_resultant_length() {
        for kappa in [1e-4, 0.2, 1.0, 3.0, 40.0, 900.0, 1e5] {
            let back = concentration(resultant_length(kappa));
            assert!((back / kappa - 1.0).abs() < 1e-7, "{kappa} {back}");
        }
        assert_eq!(concentration(0.0), 0.0);
        assert_eq!(concentration(1.0), f64::INFINITY);
        assert!(concentration(1.2).is_nan());
    }
}
