//! Long-term change: days per decade by which a passage's dates have moved. That none was found
//! is a result.

pub mod flanks;

use crate::season_shift::{SeasonShift, SeasonShiftError, in_order, weights};
use crate::straight_line::{Line, LineError, Point};
use serde::{Deserialize, Serialize};

/// With fewer seasons no change is looked for. A choice: the interval of fewer would span
/// anything.
pub const LEAST_SEASONS: usize = 8;
/// The interval holds the change with this probability.
pub const CONFIDENCE: f64 = 0.95;

/// Which way a date has moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Moved {
    /// To earlier dates.
    Earlier,
    /// To later dates.
    Later,
    /// No change was found: the interval holds both.
    NotFound,
}

/// Change of one date over the years.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Change {
    /// Days later per decade; earlier is negative.
    pub days_per_decade: f64,
    /// 95 % interval of it, by Student's t.
    pub interval: (f64, f64),
    /// Which way.
    pub moved: Moved,
    /// Median of the slopes between all pairs of seasons, days per decade: hardly touched by a
    /// few odd seasons, but blind to what each is worth.
    pub of_pairs: f64,
    /// Correlation of what the line leaves of a season with what it leaves of the next one told.
    /// Well above 0 the interval is too narrow.
    pub carry_over: f64,
    /// Seasons.
    pub seasons: usize,
    /// First and last season.
    pub years: (i32, i32),
}

/// Changes of a passage's dates, each judged by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct LongTermChange {
    /// Of the arrival.
    pub arrival: Result<Change, TrendError>,
    /// Of the median.
    pub median: Result<Change, TrendError>,
    /// Of the departure.
    pub departure: Result<Change, TrendError>,
}

/// Seasons that tell no change.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum TrendError {
    /// Too few of them.
    #[error("{got} seasons tell their timing, {LEAST_SEASONS} are needed to look for a change")]
    TooFew {
        /// seasons given
        got: usize,
    },
    /// Seasons that don't fit together.
    #[error(transparent)]
    Seasons(#[from] SeasonShiftError),
    /// No line.
    #[error(transparent)]
    Line(#[from] LineError),
}

impl LongTermChange {
    /// From each season's shift of the arrival, the median and the departure.
    pub fn of(arrival: &[SeasonShift], median: &[SeasonShift], departure: &[SeasonShift]) -> Self {
        LongTermChange {
            arrival: change(arrival),
            median: change(median),
            departure: change(departure),
        }
    }
}

/// Weighted regression of the seasons' shifts on the year. A season weighs by its own precision
/// and by the scatter about the line that all share, so that a season of many birds counts for
/// more, yet not for all.
pub fn change(seasons: &[SeasonShift]) -> Result<Change, TrendError> {
    let seasons = in_order(seasons)?;
    let (Some(first), Some(last)) = (seasons.first(), seasons.last()) else {
        return Err(TrendError::TooFew { got: 0 });
    };
    if seasons.len() < LEAST_SEASONS {
        return Err(TrendError::TooFew { got: seasons.len() });
    }
    // about the middle of the years, where the line's height and slope don't lean on each other
    let middle = 0.5 * (f64::from(first.year()) + f64::from(last.year()));
    let decades: Vec<f64> = seasons
        .iter()
        .map(|s| (f64::from(s.year()) - middle) / 10.0)
        .collect();
    let days: Vec<f64> = seasons.iter().map(|s| s.shift_days()).collect();
    let line = |w: &[f64]| {
        let points = decades.iter().zip(&days).zip(w);
        let point = |((x, y), weight): ((&f64, &f64), &f64)| Point {
            x: *x,
            y: *y,
            weight: *weight,
        };
        Line::fit(&points.map(point).collect::<Vec<_>>())
    };
    let spread = weights(&seasons, seasons.len() as f64 - 2.0, |w| {
        line(w).map_or_else(|_| vec![0.0; w.len()], |l| l.residuals)
    });
    let line = line(&spread)?;
    let interval = line.slope_interval(CONFIDENCE);
    Ok(Change {
        days_per_decade: line.slope,
        interval,
        moved: moved(interval),
        of_pairs: slope_of_pairs(&decades, &days).ok_or(LineError::NoSpread)?,
        carry_over: line.residual_lag_1(),
        seasons: seasons.len(),
        years: (first.year(), last.year()),
    })
}

fn moved(interval: (f64, f64)) -> Moved {
    if interval.1 < 0.0 {
        Moved::Earlier
    } else if interval.0 > 0.0 {
        Moved::Later
    } else {
        Moved::NotFound
    }
}

fn pairs<'a>(x: &'a [f64], y: &'a [f64]) -> impl Iterator<Item = (f64, f64)> + 'a {
    let n = x.len().min(y.len());
    (0..n).flat_map(move |i| (i + 1..n).map(move |j| (x[j] - x[i], y[j] - y[i])))
}

/// Median slope of all pairs with different x (Theil 1950, Proc. K. Ned. Akad. Wet. A 53:386-392;
/// Sen 1968, J. Am. Stat. Assoc. 63:1379-1389). None without such a pair.
pub fn slope_of_pairs(x: &[f64], y: &[f64]) -> Option<f64> {
    let mut slopes: Vec<f64> = pairs(x, y)
        .filter(|(dx, _)| *dx != 0.0)
        .map(|(dx, dy)| dy / dx)
        .collect();
    slopes.sort_by(f64::total_cmp);
    let n = slopes.len();
    let high = *slopes.get(n / 2)?;
    Some(if n % 2 == 1 {
        high
    } else {
        0.5 * (slopes[n / 2 - 1] + high)
    })
}

/// Rank correlation, ties allowed for: tau-b (Kendall 1945, Biometrika 33:239-251). None where
/// one of the two never changes.
pub fn rank_correlation(x: &[f64], y: &[f64]) -> Option<f64> {
    let sign = |d: f64| if d == 0.0 { 0.0 } else { d.signum() };
    let signs = || pairs(x, y).map(|(dx, dy)| (sign(dx), sign(dy)));
    let untied: (f64, f64) = signs().fold((0.0, 0.0), |s, (a, b)| (s.0 + a * a, s.1 + b * b));
    let agreeing: f64 = signs().map(|(a, b)| a * b).sum();
    (untied.0 > 0.0 && untied.1 > 0.0).then(|| agreeing / (untied.0 * untied.1).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};
    use rand_distr::{Distribution, Normal};
    use rand_pcg::Pcg64Mcg;

    fn seasons(per_decade: f64, seed: u64) -> Vec<SeasonShift> {
        let mut random = Pcg64Mcg::seed_from_u64(seed);
        let normal = Normal::new(0.0, 1.0).unwrap();
        (1995..2017)
            .map(|year| {
                let sd = random.random_range(0.5..6.0);
                let off = 2.7 * normal.sample(&mut random) + sd * normal.sample(&mut random);
                let days = per_decade * f64::from(year - 2000) / 10.0 + off;
                SeasonShift::new(year, days, sd).unwrap()
            })
            .collect()
    }

    #[test]
    fn intervals_hold_the_true_change() {
        for truth in [0.0, -3.0] {
            let all: Vec<Change> = (0..1000)
                .map(|s| change(&seasons(truth, s)).unwrap())
                .collect();
            let held = all
                .iter()
                .filter(|c| c.interval.0 <= truth && truth <= c.interval.1)
                .count();
            // 95 % of 1000, three standard errors either way
            assert!((929..=971).contains(&held), "{truth}: {held}");
            let found = all.iter().filter(|c| c.moved != Moved::NotFound).count();
            if truth == 0.0 {
                assert_eq!(found, 1000 - held);
            } else {
                assert!(all.iter().all(|c| c.moved != Moved::Later), "the wrong way");
                assert!(found > 600, "{found}");
            }
        }
    }

    #[test]
    fn a_season_that_tells_little_weighs_little() {
        let mut all = seasons(0.0, 3);
        let calm = change(&all).unwrap();
        all.push(SeasonShift::new(2017, 60.0, 40.0).unwrap());
        let odd = change(&all).unwrap();
        assert!(
            (odd.days_per_decade - calm.days_per_decade).abs() < 1.0,
            "{odd:?} {calm:?}"
        );
    }

    #[test]
    fn too_few_or_doubled_seasons_are_no_change() {
        let all = seasons(0.0, 1);
        assert_eq!(change(&all[..7]), Err(TrendError::TooFew { got: 7 }));
        assert_eq!(change(&[]), Err(TrendError::TooFew { got: 0 }));
        let mut doubled = all.clone();
        doubled.push(all[0]);
        assert_eq!(change(&doubled), Err(SeasonShiftError::Twice(1995).into()));
    }

    #[test]
    fn ranks_and_pairs_of_small_sets_are_as_counted_by_hand() {
        // slopes 1, 2, 0, 3, -1/2, -4: median 1/2; three pairs agree, two don't, one is tied
        let (x, y) = ([0.0, 1.0, 2.0, 3.0], [0.0, 1.0, 4.0, 0.0]);
        assert_eq!(slope_of_pairs(&x, &y), Some(0.5));
        assert_eq!(rank_correlation(&x, &y), Some(1.0 / 30.0_f64.sqrt()));
        assert_eq!(slope_of_pairs(&[1.0, 1.0], &[0.0, 3.0]), None);
        assert_eq!(rank_correlation(&[1.0, 1.0], &[0.0, 3.0]), None);
    }
}
