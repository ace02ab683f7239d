//! How well a rate is known from few visits: intervals of a part and of a count.

use statrs::function::beta::beta_reg;
use statrs::function::gamma::gamma_lr;

/// How an interval of a part of visits is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Never too narrow (Clopper & Pearson 1934).
    Exact,
    /// From the score test (Wilson 1927).
    Wilson,
    /// Of equal tails, from Jeffreys' prior (Brown, Cai & DasGupta 2001).
    Jeffreys,
    /// Wilson's middle with a plain width (Agresti & Coull 1998).
    AgrestiCoull,
}

/// Interval of the probability behind `found` of `visits`, missed with probability `alpha`. None
/// without visits, with more found than visits, or with `alpha` outside 0..1.
pub fn part(found: u32, visits: u32, alpha: f64, method: Method) -> Option<(f64, f64)> {
    if visits == 0 || found > visits || !(alpha > 0.0 && alpha < 1.0) {
        return None;
    }
    let (k, n) = (f64::from(found), f64::from(visits));
    let ends = match method {
        Method::Exact => {
            let low = if found == 0 {
                0.0
            } else {
                beta(alpha / 2.0, k, n - k + 1.0)
            };
            let high = if found == visits {
                1.0
            } else {
                beta(1.0 - alpha / 2.0, k + 1.0, n - k)
            };
            (low, high)
        }
        Method::Jeffreys => {
            let end = |p| beta(p, k + 0.5, n - k + 0.5);
            (end(alpha / 2.0), end(1.0 - alpha / 2.0))
        }
        Method::Wilson => {
            let z2 = normal(alpha).powi(2);
            let (p, middle) = (k / n, (k + z2 / 2.0) / (n + z2));
            let half = normal(alpha) / (n + z2) * (n * p * (1.0 - p) + z2 / 4.0).sqrt();
            (middle - half, middle + half)
        }
        Method::AgrestiCoull => {
            let z = normal(alpha);
            let more = n + z * z;
            let middle = (k + z * z / 2.0) / more;
            let half = z * (middle * (1.0 - middle) / more).sqrt();
            (middle - half, middle + half)
        }
    };
    // the plain widths may reach beyond what a probability can be
    Some((ends.0.max(0.0), ends.1.min(1.0)))
}

/// The largest probability a visit that `visits` without a find leave open, one-sided: 1 -
/// alpha^(1/visits), the exact limit for none found.
pub fn none_found_limit(visits: u32, alpha: f64) -> Option<f64> {
    let usable = visits > 0 && alpha > 0.0 && alpha < 1.0;
    usable.then(|| -(alpha.ln() / f64::from(visits)).exp_m1())
}

/// Interval of the mean behind a Poisson count (Garwood 1936). None with `alpha` outside 0..1.
pub fn poisson_mean(count: u32, alpha: f64) -> Option<(f64, f64)> {
    if !(alpha > 0.0 && alpha < 1.0) {
        return None;
    }
    let n = f64::from(count);
    let low = match count {
        0 => 0.0,
        _ => gamma(alpha / 2.0, n),
    };
    Some((low, gamma(1.0 - alpha / 2.0, n + 1.0)))
}

/// Two-sided quantile of the standard normal: half of a squared one is a gamma of shape 1/2.
fn normal(alpha: f64) -> f64 {
    (2.0 * gamma(1.0 - alpha, 0.5)).sqrt()
}

fn beta(p: f64, a: f64, b: f64) -> f64 {
    root(0.0, 1.0, |x| beta_reg(a, b, x) < p)
}

fn gamma(p: f64, shape: f64) -> f64 {
    let mut high = 1.0;
    while gamma_lr(shape, high) < p {
        high *= 2.0;
    }
    root(0.0, high, |x| gamma_lr(shape, x) < p)
}

/// Where `below` turns false, to the last digit or so.
fn root(mut low: f64, mut high: f64, below: impl Fn(f64) -> bool) -> f64 {
    // halving the bracket 200 times leaves nothing of it, however near to 0 the root lies
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if below(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nonsense_has_no_interval() {
        assert_eq!(part(1, 0, 0.05, Method::Exact), None);
        assert_eq!(part(4, 3, 0.05, Method::Wilson), None);
        assert_eq!(part(1, 3, 0.0, Method::Jeffreys), None);
        assert_eq!(poisson_mean(3, 1.0), None);
        assert_eq!(none_found_limit(0, 0.05), None);
        assert_eq!(poisson_mean(0, 0.05).map(|i| i.0), Some(0.0));
    }

    /// An exact interval holds the truth at least as often as it says, whatever the truth is.
    #[test]
    fn exact_intervals_cover() {
        for p in [0.02, 0.1, 0.37, 0.5, 0.8] {
            let n = 25;
            let mut covered = 0.0;
            let mut chance = f64::powi(1.0 - p, n);
            for k in 0..=n {
                let (low, high) = part(k as u32, n as u32, 0.1, Method::Exact).expect("usable");
                if low <= p && p <= high {
                    covered += chance;
                }
                chance *= f64::from(n - k) / f64::from(k + 1) * p / (1.0 - p);
            }
            assert!(covered >= 0.9, "{p}: {covered}");
        }
    }
}
