//! The top of a strip's scale and its tick.

use super::{SetChart, SpeciesCurve};
use forecast::calendar::DAYS;

/// A band is cut where it runs higher than this many times the highest mean, so that a wide
/// interval does not flatten the curve; the chart says so.
const BAND_REACH: f64 = 2.5;

/// Room above the highest point.
const HEADROOM: f64 = 1.08;

/// One strip's scale in birds on a standard visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    /// Upper end.
    pub top: f64,
    /// The round number marked on the axis.
    pub tick: f64,
    /// Does the band run out at the top?
    pub band_cut: bool,
}

impl Scale {
    /// Up to the highest of the watched year, also where only some weeks are shown: a species
    /// that is as good as absent from them must look so. From 0 to 1 where nothing is drawn.
    pub fn of(chart: &SetChart, curve: &SpeciesCurve) -> Self {
        let days = (0..DAYS).filter(|d| chart.watched[*d]);
        let (mean, high) = days.fold((0.0_f64, 0.0_f64), |(m, h), day| {
            (m.max(curve.mean[day]), h.max(curve.interval[day].1))
        });
        if mean <= 0.0 {
            let top = if high > 0.0 { high } else { 1.0 };
            return Scale {
                top,
                tick: round_below(top),
                band_cut: false,
            };
        }
        let top = mean.max(high.min(BAND_REACH * mean)) * HEADROOM;
        Scale {
            top,
            tick: round_below(top),
            band_cut: high > top,
        }
    }
}

/// The largest of 1, 2, 5 times a power of ten that is not above `top`.
pub(super) fn round_below(top: f64) -> f64 {
    let power = 10f64.powf(top.log10().floor());
    // A hair of tolerance, since powers of ten are not exact.
    let fits = |m: &&f64| *m * power <= top * (1.0 + 1e-9);
    [5.0, 2.0, 1.0]
        .iter()
        .find(fits)
        .map_or(power, |m| m * power)
}

/// A tick's number without needless digits.
pub(super) fn tick_label(tick: f64) -> String {
    let decimals = (-tick.log10().floor()).max(0.0) as usize;
    format!("{tick:.decimals$}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round() {
        for (top, tick, label) in [
            (0.07, 0.05, "0.05"),
            (0.1, 0.1, "0.1"),
            (1.0, 1.0, "1"),
            (4.9, 2.0, "2"),
            (250.0, 200.0, "200"),
            (0.0031, 0.002, "0.002"),
        ] {
            let got = round_below(top);
            assert!((got - tick).abs() < 1e-12, "{top} -> {got}");
            assert_eq!(tick_label(got), label);
        }
    }
}
