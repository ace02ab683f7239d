//! Forecasts put together by the chance that they gave.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::ops::Range;

/// Fewer forecasts than this say nothing of how often they came true.
pub(super) const LEAST_TIMES: usize = 10;

/// The chance whose record the digest quotes: neither nearly sure nor hardly worth saying.
const QUOTED: f64 = 0.7;

/// Where bins begin: tenths, and finer below one tenth, where most forecasts lie.
const EDGES: [f64; 12] = [0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];

/// Forecasts of about the same chance.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Bin {
    /// Sum of the chances given.
    said: f64,
    /// Forecasts.
    pub times: usize,
    /// Those in which the species was found.
    pub found: usize,
}

impl Bin {
    /// Mean chance given.
    pub fn mean(&self) -> f64 {
        self.said / self.times.max(1) as f64
    }
}

/// Forecasts and what came of them, from the rarest to the surest.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Bins([Bin; EDGES.len()]);

impl Bins {
    /// Adds a forecast.
    pub fn add(&mut self, chance: f64, found: bool) {
        let bin = &mut self.0[bin_of(chance)];
        bin.said += chance;
        bin.times += 1;
        bin.found += usize::from(found);
    }

    /// Adds all of the others.
    pub fn join(&mut self, others: &Bins) {
        for (bin, other) in self.0.iter_mut().zip(&others.0) {
            bin.said += other.said;
            bin.times += other.times;
            bin.found += other.found;
        }
    }

    /// Forecasts in all.
    pub fn times(&self) -> usize {
        self.0.iter().map(|b| b.times).sum()
    }

    /// Those of which there are enough to tell, from the rarest to the surest.
    pub fn told(&self) -> impl Iterator<Item = Bin> {
        let enough = |bin: &Bin| bin.times >= LEAST_TIMES;
        self.0.iter().copied().filter(enough)
    }

    /// The chances that are put together with this one: from the first up to the second.
    pub fn range(chance: f64) -> (f64, f64) {
        let at = bin_of(chance);
        (EDGES[at], EDGES.get(at + 1).copied().unwrap_or(1.0))
    }

    /// Forecasts of chances like this one; None where there are too few to tell.
    pub fn like(&self, chance: f64) -> Option<Bin> {
        let bin = self.0[bin_of(chance)];
        (bin.times >= LEAST_TIMES).then_some(bin)
    }

    /// Of the bins with so many forecasts and a mean chance within the range the one nearest to
    /// seven times in ten.
    pub(super) fn quoted(&self, least: usize, within: Range<f64>) -> Option<Bin> {
        let far = |b: &Bin| (b.mean() - QUOTED).abs();
        let told = self.0.iter().copied();
        told.filter(|b| b.times >= least && within.contains(&b.mean()))
            .min_by(|a, b| far(a).total_cmp(&far(b)))
    }
}

/// Bins of each species by itself, by scientific name.
pub type BySpecies = BTreeMap<String, Bins>;

fn bin_of(chance: f64) -> usize {
    EDGES
        .partition_point(|edge| *edge <= chance)
        .saturating_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_fall_into_their_bins_and_seven_in_ten_is_quoted() {
        let mut bins = Bins::default();
        for i in 0..12 {
            bins.add(0.01, false);
            bins.add(0.74, i < 9);
            bins.add(0.62, i < 8);
        }
        bins.add(1.0, true);
        let like = bins.like(0.7).unwrap();
        assert_eq!((like.times, like.found), (12, 9));
        assert!((like.mean() - 0.74).abs() < 1e-12);
        assert_eq!(bins.like(0.95), None, "once is too seldom");
        assert_eq!(bins.quoted(12, 0.5..0.9), Some(like));
        assert_eq!(bins.quoted(13, 0.0..1.0), None);
        let mut twice = bins.clone();
        twice.join(&bins);
        assert_eq!((twice.times(), twice.like(0.65).unwrap().found), (74, 16));
    }
}
