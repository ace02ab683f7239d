//! A distribution as a mixture of normals.

use super::Estimate;
use crate::normal;

/// Weights, which need not sum to 1, with means and variances.
#[derive(Debug, Clone)]
pub(super) struct Mixture(pub(super) Vec<(f64, f64, f64)>);

impl Mixture {
    /// The median and the 10 % and 90 % points.
    pub(super) fn estimate(&self) -> Estimate {
        Estimate {
            middle: self.quantile(0.5),
            low: self.quantile(0.1),
            high: self.quantile(0.9),
        }
    }

    /// Of the cumulative distribution, by bisection to a millionth of its span.
    fn quantile(&self, p: f64) -> f64 {
        let total: f64 = self.0.iter().map(|(w, ..)| w).sum();
        let below = |x: f64| -> f64 {
            let parts = self.0.iter();
            let part = |(w, mean, v): &(f64, f64, f64)| w * normal::cdf((x - mean) / v.sqrt());
            parts.map(part).sum::<f64>() / total
        };
        let ends = |side: f64| {
            self.0
                .iter()
                .map(move |(_, m, v)| m + side * 6.0 * v.sqrt())
        };
        let mut low = ends(-1.0).fold(f64::INFINITY, f64::min);
        let mut high = ends(1.0).fold(f64::NEG_INFINITY, f64::max);
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            if below(middle) < p {
                low = middle
            } else {
                high = middle
            }
        }
        0.5 * (low + high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_those_of_the_normal_and_of_two_apart() {
        let one = Mixture(vec![(3.0, 2.0, 4.0)]).estimate();
        // Abramowitz & Stegun 26.2: the 90 % point of a standard normal is 1.281552
        assert!((one.high - 2.0 - 2.0 * 1.281_552).abs() < 1e-4, "{one:?}");
        assert!((one.middle - 2.0).abs() < 1e-4);
        // three quarters near 0 and a quarter near 100: the 90 % point is the upper 60 % point
        let two = Mixture(vec![(3.0, 0.0, 1.0), (1.0, 100.0, 1.0)]).estimate();
        assert!((two.high - 100.253_347).abs() < 1e-3, "{two:?}");
    }
}
