//! How often chance alone would show a link as strong: the seasons' temperatures are dealt out
//! anew to the years, the same way for every passage of the site, and the strongest correlation
//! of any passage with any window is noted (Westfall & Young 1993, Resampling-Based Multiple
//! Testing: the single-step maximum). It holds the chance that a site opens any gate
//! falsely at the level, whatever species and windows have in common, as long as years could
//! stand in any order; where temperature and timing both drift over the years, that drift is
//! itself taken for a link.

use crate::season_shift::{SeasonShift, weighted_mean, weights_about_mean};
use nalgebra::DMatrix;
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_pcg::Pcg64Mcg;

/// A passage made ready: its seasons' places among the years that are dealt out.
pub(super) struct Hand<'a> {
    /// Temperatures of every year dealt out, a row a year; not a number where they aren't known.
    pub deck: DMatrix<f64>,
    /// Which row belongs to each season.
    pub places: Vec<usize>,
    /// Its seasons.
    pub seasons: &'a [SeasonShift],
}

/// A season's shift as it enters each correlation.
struct Season {
    place: usize,
    weight: f64,
    shift: f64,
}

struct Weighed<'a> {
    deck: &'a DMatrix<f64>,
    seasons: Vec<Season>,
}

impl<'a> Weighed<'a> {
    fn new(hand: &'a Hand<'a>) -> Self {
        let weights = weights_about_mean(hand.seasons);
        // about their mean, so that sums of squares keep their figures
        let mean = weighted_mean(hand.seasons.iter().map(|s| s.shift_days()), &weights);
        let rows = hand.seasons.iter().zip(&weights).zip(&hand.places);
        let season = |((s, weight), place): ((&SeasonShift, &f64), &usize)| Season {
            place: *place,
            weight: *weight,
            shift: s.shift_days() - mean,
        };
        Weighed {
            deck: &hand.deck,
            seasons: rows.map(season).collect(),
        }
    }

    /// Fisher's transform of the strongest weighted correlation with any column, in its standard
    /// errors (Fisher 1921, Metron 1:3-32), which puts passages with few and many seasons on
    /// one scale.
    fn strongest(&self, order: &[usize]) -> f64 {
        let columns = self.deck.column_iter();
        columns
            .map(|c| self.strength(c.as_slice(), order))
            .fold(0.0, f64::max)
    }

    fn strength(&self, column: &[f64], order: &[usize]) -> f64 {
        let (mut n, mut nn, mut x1, mut x2, mut y1, mut y2, mut xy) =
            (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for Season {
            place,
            weight: w,
            shift: y,
        } in &self.seasons
        {
            let x = column[order[*place]];
            if x.is_nan() {
                continue;
            }
            n += w;
            nn += w * w;
            x1 += w * x;
            x2 += w * x * x;
            y1 += w * y;
            y2 += w * y * y;
            xy += w * x * y;
        }
        let (spread_x, spread_y) = (x2 - x1 * x1 / n, y2 - y1 * y1 / n);
        // what hardly changes has no correlation, and no years have none either
        let flat = |spread: f64, squares: f64| spread.is_nan() || spread <= 1e-12 * squares;
        if flat(spread_x, x2) || flat(spread_y, y2) {
            return 0.0;
        }
        let correlation = (xy - x1 * y1 / n) / (spread_x * spread_y).sqrt();
        // values alike but for rounding would have no finite transform
        let seasons = (n * n / nn - 3.0).max(0.0);
        seasons.sqrt() * correlation.abs().min(1.0 - 1e-12).atanh()
    }
}

/// For each passage: the chance that a site without any link shows one as strong, from
/// `shuffles` deals, or from fewer once every passage's is sure to lie above `level` (Besag &
/// Clifford 1991, Biometrika 78:301-304). Every deck has the same number of rows.
pub(super) fn chances(hands: &[Hand], shuffles: usize, level: f64, seed: u64) -> Vec<f64> {
    let weighed: Vec<Weighed> = hands.iter().map(Weighed::new).collect();
    let years = hands.first().map_or(0, |h| h.deck.nrows());
    let mut order: Vec<usize> = (0..years).collect();
    let found: Vec<f64> = weighed.iter().map(|w| w.strongest(&order)).collect();
    let mut as_strong = vec![1_usize; hands.len()];
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut deals = 0;
    let bar = level * (shuffles as f64 + 1.0);
    while deals < shuffles && as_strong.iter().any(|n| *n as f64 <= bar) {
        deals += 1;
        order.shuffle(&mut random);
        let top = weighed
            .iter()
            .map(|w| w.strongest(&order))
            .fold(0.0, f64::max);
        let reached = |f: &f64| top >= f - 1e-9;
        found
            .iter()
            .zip(&mut as_strong)
            .filter(|(f, _)| reached(f))
            .for_each(|(_, n)| *n += 1);
    }
    // the order found is one of those that chance could have dealt (Phipson & Smyth 2010, Stat.
    // Appl. Genet. Mol. Biol. 9:39)
    as_strong
        .iter()
        .map(|n| *n as f64 / (deals as f64 + 1.0))
        .collect()
}
