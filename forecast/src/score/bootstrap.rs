//! Intervals of a comparison. Scores of one year hang together, through its weather and its
//! observers, so whole years are resampled.

use super::{ScoreError, at_least, finite};
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;
use std::collections::BTreeMap;

/// Sums of two forecasts' scores over one year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YearScore {
    /// The year.
    pub year: i32,
    /// Sum of our scores.
    pub ours: f64,
    /// Sum of the reference's scores of the same observations.
    pub reference: f64,
    /// Observations scored.
    pub scored: usize,
}

/// Sums scores, given as (year, ours, reference), by year.
pub fn by_year(scores: impl IntoIterator<Item = (i32, f64, f64)>) -> Vec<YearScore> {
    let mut years: BTreeMap<i32, YearScore> = BTreeMap::new();
    for (year, ours, reference) in scores {
        let sum = years.entry(year).or_insert(YearScore {
            year,
            ours: 0.0,
            reference: 0.0,
            scored: 0,
        });
        sum.ours += ours;
        sum.reference += reference;
        sum.scored += 1;
    }
    years.into_values().collect()
}

/// How to resample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resampling {
    /// Resamples; with 2000 the ends of an 80 % interval are placed to within 0.7 % of probability.
    pub draws: usize,
    /// Probability inside the interval, for instance 0.8.
    pub level: f64,
    /// Seed: the same seed gives the same interval.
    pub seed: u64,
}

/// A comparison with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compared {
    /// From all years as they were.
    pub estimate: f64,
    /// Lower end of the percentile interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Skill, 1 - ours / reference: above 0 ours is better.
pub fn skill(years: &[YearScore], resampling: &Resampling) -> Result<Compared, ScoreError> {
    compare(years, resampling, |sums| 1.0 - sums.ours / sums.reference)
}

/// Mean difference ours - reference an observation: below 0 ours is better.
pub fn difference(years: &[YearScore], resampling: &Resampling) -> Result<Compared, ScoreError> {
    compare(years, resampling, |sums| {
        (sums.ours - sums.reference) / sums.scored as f64
    })
}

fn compare(
    years: &[YearScore],
    resampling: &Resampling,
    statistic: impl Fn(&YearScore) -> f64,
) -> Result<Compared, ScoreError> {
    let of = |indices: &mut dyn Iterator<Item = usize>| {
        let none = YearScore {
            year: 0,
            ours: 0.0,
            reference: 0.0,
            scored: 0,
        };
        statistic(&indices.fold(none, |sum, i| YearScore {
            year: 0,
            ours: sum.ours + years[i].ours,
            reference: sum.reference + years[i].reference,
            scored: sum.scored + years[i].scored,
        }))
    };
    resample(years.len(), resampling, of)
}

/// The percentile interval (Efron & Tibshirani 1993, section 13.3) of any statistic of `blocks`
/// blocks drawn with replacement, given as indices.
pub fn resample(
    blocks: usize,
    resampling: &Resampling,
    statistic: impl Fn(&mut dyn Iterator<Item = usize>) -> f64,
) -> Result<Compared, ScoreError> {
    check(blocks, resampling)?;
    let estimate = statistic(&mut (0..blocks));
    let mut random = Pcg64Mcg::seed_from_u64(resampling.seed);
    let mut drawn: Vec<f64> = (0..resampling.draws)
        .map(|_| statistic(&mut (0..blocks).map(|_| random.random_range(0..blocks))))
        .collect();
    finite(&[estimate])?;
    finite(&drawn)?;
    drawn.sort_by(f64::total_cmp);
    let tail = (1.0 - resampling.level) / 2.0;
    Ok(Compared {
        estimate,
        low: quantile(&drawn, tail),
        high: quantile(&drawn, 1.0 - tail),
    })
}

fn check(blocks: usize, resampling: &Resampling) -> Result<(), ScoreError> {
    at_least(blocks, 2)?;
    if resampling.draws == 0 {
        return Err(ScoreError::Setting {
            name: "the number of resamples",
            value: 0.0,
            expected: "1 or more",
        });
    }
    if resampling.level <= 0.0 || resampling.level >= 1.0 || resampling.level.is_nan() {
        return Err(ScoreError::Setting {
            name: "the level",
            value: resampling.level,
            expected: "between 0 and 1",
        });
    }
    Ok(())
}

/// Of a sorted list that is not empty, between neighbours (Hyndman & Fan 1996, type 7).
fn quantile(sorted: &[f64], p: f64) -> f64 {
    let at = p * (sorted.len() - 1) as f64;
    let (low, high) = (at.floor() as usize, at.ceil() as usize);
    sorted[low] + (at - at.floor()) * (sorted[high] - sorted[low])
}
