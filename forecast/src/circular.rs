//! Statistics of positions on a circle: dates on the year, hours on the day.

use crate::bessel::concentration;
use crate::calendar::circular_mean;
use statrs::distribution::{ContinuousCDF, Normal};
use std::f64::consts::TAU;

/// Positions on a circle, described. Lengths are in the unit of the positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CircularSummary {
    /// Positions.
    pub n: usize,
    /// Mean direction, in (0, period].
    pub mean: f64,
    /// Resultant length R = n r.
    pub resultant: f64,
    /// Mean resultant length r, 0 (spread evenly) to 1 (all in one place).
    pub mean_resultant: f64,
    /// Circular standard deviation, sqrt(-2 ln r).
    pub sd: f64,
    /// Angular deviation, sqrt(2 (1 - r)).
    pub angular_deviation: f64,
    /// Circular dispersion (1 - m2) / (2 r^2), m2 the mean cosine of twice the distance from the
    /// mean (Fisher 1993, eq. 2.28); a pure number.
    pub dispersion: f64,
    /// Half width of the 95 % interval of the mean, asin(1.96 sqrt(dispersion / n)) (Fisher 1993,
    /// section 4.4.4); None where the mean is not tied down at all.
    pub ci95_half_width: Option<f64>,
    /// Concentration of the von Mises distribution by maximum likelihood.
    pub kappa: f64,
    /// Rayleigh's test of an even spread.
    pub rayleigh: Rayleigh,
}

/// Rayleigh's test against an even spread round the circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rayleigh {
    /// n r^2.
    pub z: f64,
    /// Its p-value by the approximation exp(sqrt(1 + 4n + 4(n^2 - R^2)) - (1 + 2n)) (Zar,
    /// Biostatistical Analysis, circular chapter). The one to quote.
    pub p: f64,
    /// The series to 1/n^2 (Fisher 1993, eq. 4.17). Below zero for few positions that are all in
    /// one place: for comparison with other programs only.
    pub p_series: f64,
}

/// Describes positions on a circle of the given period. None for no positions, for one that is
/// not finite and for a period that is not positive.
pub fn summarise(positions: &[f64], period: f64) -> Option<CircularSummary> {
    let usable = period.is_finite() && period > 0.0 && positions.iter().all(|p| p.is_finite());
    let centre = circular_mean(positions, period).filter(|_| usable)?;
    let turn = TAU / period;
    let n = positions.len() as f64;
    let r = centre.resultant_length.min(1.0);
    let doubled = |p: &f64| (2.0 * (p - centre.mean) * turn).cos();
    let second_moment = positions.iter().map(doubled).sum::<f64>() / n;
    let dispersion = (1.0 - second_moment) / (2.0 * r * r);
    let sine = normal_quantile(0.975) * (dispersion / n).sqrt();
    Some(CircularSummary {
        n: positions.len(),
        mean: centre.mean,
        resultant: n * r,
        mean_resultant: r,
        sd: centre.sd,
        angular_deviation: (2.0 * (1.0 - r)).sqrt() / turn,
        dispersion,
        ci95_half_width: (sine <= 1.0).then(|| sine.asin() / turn),
        kappa: concentration(r),
        rayleigh: rayleigh(n, r),
    })
}

fn rayleigh(n: f64, r: f64) -> Rayleigh {
    let resultant = n * r;
    let z = n * r * r;
    let root = (1.0 + 4.0 * n + 4.0 * (n * n - resultant * resultant)).sqrt();
    let first = (2.0 * z - z * z) / (4.0 * n);
    let second =
        (24.0 * z - 132.0 * z.powi(2) + 76.0 * z.powi(3) - 9.0 * z.powi(4)) / (288.0 * n * n);
    Rayleigh {
        z,
        p: (root - (1.0 + 2.0 * n)).exp(),
        p_series: (-z).exp() * (1.0 + first - second),
    }
}

fn normal_quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p)
}

/// Correlation of positions on a circle with a number, 0..=1: the multiple correlation of the
/// number with the position's sine and cosine (Mardia 1976; Mardia & Jupp 2000, section 11.2.1).
/// None for lists of different length, fewer than four pairs, or where either does not vary.
pub fn circular_linear_correlation(positions: &[f64], numbers: &[f64], period: f64) -> Option<f64> {
    if positions.len() != numbers.len() || positions.len() < 4 {
        return None;
    }
    let turn = TAU / period;
    let sines: Vec<f64> = positions.iter().map(|p| (p * turn).sin()).collect();
    let cosines: Vec<f64> = positions.iter().map(|p| (p * turn).cos()).collect();
    let with_cosine = correlation(numbers, &cosines)?;
    let with_sine = correlation(numbers, &sines)?;
    let between = correlation(&cosines, &sines)?;
    let squared = (with_cosine.powi(2) + with_sine.powi(2)
        - 2.0 * with_cosine * with_sine * between)
        / (1.0 - between * between);
    // rounding may leave a perfect or an absent correlation just outside 0..=1
    squared.is_finite().then(|| squared.clamp(0.0, 1.0).sqrt())
}

/// Pearson's correlation; None where either list does not vary.
fn correlation(a: &[f64], b: &[f64]) -> Option<f64> {
    let n = a.len() as f64;
    let mean_a = a.iter().sum::<f64>() / n;
    let mean_b = b.iter().sum::<f64>() / n;
    let products = |x: &[f64], mx: f64, y: &[f64], my: f64| -> f64 {
        x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum()
    };
    let scale = products(a, mean_a, a, mean_a) * products(b, mean_b, b, mean_b);
    (scale > 0.0).then(|| products(a, mean_a, b, mean_b) / scale.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};
    use rand_pcg::Pcg64Mcg;

    #[test]
    fn turning_the_circle_turns_the_mean_and_nothing_else() {
        let days = [350.0, 355.0, 2.0, 9.0, 20.0];
        let turned: Vec<f64> = days.iter().map(|d| (d + 100.0) % 366.0).collect();
        let (a, b) = (summarise(&days, 366.0), summarise(&turned, 366.0));
        let (a, b) = (a.expect("five days"), b.expect("five days"));
        assert!(((b.mean - a.mean).rem_euclid(366.0) - 100.0).abs() < 1e-9);
        assert!((a.kappa - b.kappa).abs() < 1e-9 && (a.dispersion - b.dispersion).abs() < 1e-9);
    }

    #[test]
    fn rayleighs_p_is_the_rate_of_even_spreads_as_clustered() {
        let mut random = Pcg64Mcg::seed_from_u64(4);
        let mut low = 0;
        for _ in 0..4000 {
            let days: Vec<f64> = (0..12).map(|_| random.random_range(0.0..366.0)).collect();
            let p = summarise(&days, 366.0).expect("twelve days").rayleigh.p;
            low += i32::from(p < 0.1);
        }
        // binomial standard error 19
        assert!((low - 400).abs() < 60, "{low}");
    }

    #[test]
    fn nothing_is_made_of_nothing() {
        assert_eq!(summarise(&[], 366.0), None);
        assert_eq!(summarise(&[1.0, f64::NAN], 366.0), None);
        assert_eq!(summarise(&[1.0, 2.0], 0.0), None);
        let opposite = summarise(&[0.0, 180.0], 360.0).expect("two angles");
        assert_eq!(opposite.ci95_half_width, None);
        assert_eq!(
            circular_linear_correlation(&[1.0; 5], &[1.0, 2.0, 3.0, 4.0, 5.0], 366.0),
            None
        );
        assert_eq!(
            circular_linear_correlation(&[1.0; 3], &[1.0; 4], 366.0),
            None
        );
    }

    #[test]
    fn a_cosine_of_the_date_correlates_perfectly() {
        let days: Vec<f64> = (0..12).map(|i| f64::from(i) * 23.0).collect();
        let waves: Vec<f64> = days
            .iter()
            .map(|d| ((d - 40.0) * TAU / 366.0).cos())
            .collect();
        let r = circular_linear_correlation(&days, &waves, 366.0).expect("varies");
        assert!((r - 1.0).abs() < 1e-12, "{r}");
    }
}
