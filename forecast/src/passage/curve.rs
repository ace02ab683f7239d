//! The curve of one passage: cubic B-splines of the day with a third-order difference penalty,
//! whose limit is a Gaussian passage, negative binomial with a multiplier a season.

use crate::negative_binomial::Dispersion;
use crate::series::Count;
use crate::year_curve::YearCurveError;
use crate::year_curve::basis::cubic_pieces;
use crate::year_curve::design::{Design, Observation};
use crate::year_curve::newton::{FitError, Hessian};
use crate::year_curve::posterior::Posterior;
use crate::year_curve::reml::{Hyper, Model, Penalty, Priors};
use crate::year_curve::search::{Free, search};
use crate::year_curve::smooth::Positions;
use nalgebra::{DMatrix, DVector};

/// Days between knots.
pub const KNOT_DAYS: f64 = 6.0;
/// Days that the curve reaches beyond each end of its stretch, so that it can be shifted.
pub const BEYOND_DAYS: f64 = 30.0;
/// Holds coefficients far from any bird; too weak to move any that a bird ties down.
const RIDGE: f64 = 1e-4;
/// Belief about log theta: log 0.5 with standard deviation 1 (trial on 2000-2005).
const LOG_THETA: (f64, f64) = (-std::f64::consts::LN_2, 1.0);

/// 10^-1 to 10^6: from free to a Gaussian passage; beyond, the criterion drowns in rounding.
const LOG_LAMBDA: (f64, f64) = (-2.303, 13.816);

/// One visit within the stretch.
#[derive(Debug, Clone, Copy)]
pub struct Sighting {
    /// Days from the first day of the stretch.
    pub offset: usize,
    /// Index of the season.
    pub season: usize,
    /// Log of effort / standard effort.
    pub log_effort: f64,
    /// What was counted.
    pub count: Count,
}

/// A fitted passage curve.
#[derive(Debug, Clone)]
pub struct PassageCurve {
    beta: DVector<f64>,
    covariance: DMatrix<f64>,
    length: usize,
    /// Positions of the first and the last visit that it was fitted to.
    seen: (f64, f64),
    /// Scatter of counts.
    pub dispersion: Dispersion,
    /// Smoothing parameter on the differences of coefficients six days apart.
    pub lambda: f64,
    /// Standard deviation of the seasons' multipliers, log scale.
    pub season_sd: f64,
    /// Each season's multiplier, log scale: mode and standard deviation.
    pub seasons: Vec<(f64, f64)>,
}

fn segments(length: usize) -> usize {
    ((length as f64 - 1.0 + 2.0 * BEYOND_DAYS) / KNOT_DAYS).ceil() as usize
}

/// Basis functions at a position in days from the first day of the stretch; positions beyond
/// the reach of the curve take its end value.
fn row(position: f64, length: usize) -> (usize, [f64; 4]) {
    let segments = segments(length);
    let at = ((position + BEYOND_DAYS) / KNOT_DAYS).clamp(0.0, segments as f64 - 1e-9);
    let segment = at.floor() as usize;
    (segment, cubic_pieces(at - segment as f64))
}

/// Derivatives of the four basis functions by day; zero beyond the reach of the curve.
fn slopes(position: f64, length: usize) -> [f64; 4] {
    let at = (position + BEYOND_DAYS) / KNOT_DAYS;
    if !(0.0..segments(length) as f64).contains(&at) {
        return [0.0; 4];
    }
    let u = at - at.floor();
    let v = 1.0 - u;
    [
        -v * v / 2.0,
        (3.0 * u * u - 4.0 * u) / 2.0,
        (4.0 * v - 3.0 * v * v) / 2.0,
        u * u / 2.0,
    ]
    .map(|s| s / KNOT_DAYS)
}

fn third_differences(k: usize) -> DMatrix<f64> {
    let mut d: DMatrix<f64> = DMatrix::zeros(k - 3, k);
    for i in 0..k - 3 {
        for (j, value) in [-1.0, 3.0, -3.0, 1.0].into_iter().enumerate() {
            d[(i, i + j)] = value;
        }
    }
    d.transpose() * d
}

/// Shifts are rounded to this part of a day, so that visits still share positions.
const SHIFT_STEP: f64 = 0.5;

/// Fits the curve of a stretch of `length` days over seasons that ran late by `shifts` days, one
/// a season; zeros where nothing is known of their timing.
pub fn fit(
    length: usize,
    shifts: &[f64],
    sightings: &[Sighting],
) -> Result<PassageCurve, YearCurveError> {
    let k = segments(length) + 3;
    let at = |s: &Sighting| s.offset as f64 - (shifts[s.season] / SHIFT_STEP).round() * SHIFT_STEP;
    let positions = Positions::new(&sightings.iter().map(at).collect::<Vec<_>>());
    let mut table: DMatrix<f64> = DMatrix::zeros(positions.distinct.len(), k);
    for (i, position) in positions.distinct.iter().enumerate() {
        let (first, pieces) = row(*position, length);
        pieces
            .iter()
            .enumerate()
            .for_each(|(j, v)| table[(i, first + j)] = *v);
    }
    let rows: Vec<Observation> = sightings
        .iter()
        .zip(&positions.index)
        .map(|(s, row)| Observation {
            row: *row,
            group: s.season,
            offset: s.log_effort,
            count: s.count,
        })
        .collect();
    let model = Model {
        design: Design::new(&table, shifts.len(), &rows)?,
        penalty: Penalty::new(third_differences(k), 3, RIDGE),
        priors: Priors {
            log_theta: Some(LOG_THETA),
            log_precision: Some((0.0, 1.0)),
            log_lambda_range: LOG_LAMBDA,
            // lambda creeps along a ridge towards the Gaussian limit; this leaves the curve
            // unchanged to a part in a thousand
            least_gain: 1e-6,
        },
    };
    let start = Hyper {
        log_lambda: 100f64.ln(),
        log_precision: 0.45,
        log_theta: Some(LOG_THETA.0),
    };
    let found = search(
        &model,
        start,
        Free {
            lambda: true,
            precision: shifts.len() > 1,
            theta: true,
        },
    )?;
    let all = positions.distinct.iter().copied();
    let ends = (
        all.clone().fold(f64::INFINITY, f64::min),
        all.fold(f64::NEG_INFINITY, f64::max),
    );
    finish(&model, length, ends, found).map_err(YearCurveError::from)
}

fn finish(
    model: &Model,
    length: usize,
    seen: (f64, f64),
    found: crate::year_curve::reml::Evaluation,
) -> Result<PassageCurve, FitError> {
    let fit = &found.coefficients;
    let eta = model.design.predictor(&fit.beta, &fit.groups);
    let dispersion = found.hyper.dispersion();
    let weight = |(c, e): (&Count, &f64)| {
        crate::year_curve::likelihood::step_row(*c, *e, dispersion).map_or(0.0, |r| r.2)
    };
    let weights: Vec<f64> = model.design.counts().iter().zip(&eta).map(weight).collect();
    let smoothing = model.smoothing(found.hyper);
    let inverse = Hessian::new(model.design.information(&weights), &smoothing)?.inverse();
    let variances = inverse.group_block.diagonal();
    let seasons = fit.groups.iter().zip(variances.iter());
    Ok(PassageCurve {
        seasons: seasons.map(|(m, v)| (*m, v.max(0.0).sqrt())).collect(),
        beta: fit.beta.clone(),
        covariance: inverse.square,
        length,
        seen,
        dispersion,
        lambda: found.hyper.log_lambda.exp(),
        season_sd: (-0.5 * found.hyper.log_precision).exp(),
    })
}

impl PassageCurve {
    /// Log expected count at a position in days from the first day of the stretch.
    pub fn log_mean(&self, position: f64) -> f64 {
        self.drawn(self.held(position))
    }

    /// Before the first visit and after the last the curve may go on falling as it did; a rise
    /// there would be made of nothing, so it is read at that visit.
    fn held(&self, position: f64) -> f64 {
        let visited = position.clamp(self.seen.0, self.seen.1);
        if visited != position && self.drawn(position) > self.drawn(visited) {
            visited
        } else {
            position
        }
    }

    fn drawn(&self, position: f64) -> f64 {
        let (first, pieces) = row(position, self.length);
        pieces
            .iter()
            .enumerate()
            .map(|(i, v)| v * self.beta[first + i])
            .sum()
    }

    /// Log expected count and its slope a day.
    pub fn log_mean_and_slope(&self, position: f64) -> (f64, f64) {
        let at = self.held(position);
        let (first, pieces) = row(at, self.length);
        let slopes = match at == position {
            true => slopes(at, self.length),
            false => [0.0; 4],
        };
        let sum = |p: &[f64; 4]| {
            p.iter()
                .enumerate()
                .map(|(i, v)| v * self.beta[first + i])
                .sum()
        };
        (sum(&pieces), sum(&slopes))
    }

    /// The four coefficients that make the curve at a position: the first one's place, and the
    /// weight of each.
    pub(crate) fn coefficients_at(&self, position: f64) -> (usize, [f64; 4]) {
        row(self.held(position), self.length)
    }

    /// Covariance of the coefficients.
    pub(crate) fn covariance(&self) -> &DMatrix<f64> {
        &self.covariance
    }

    /// The curve on the days of its stretch, with its uncertainty.
    pub fn posterior(&self) -> Posterior {
        let mut rows: DMatrix<f64> = DMatrix::zeros(self.length, self.beta.len());
        for day in 0..self.length {
            let (first, pieces) = self.coefficients_at(day as f64);
            pieces
                .iter()
                .enumerate()
                .for_each(|(i, v)| rows[(day, first + i)] = *v);
        }
        Posterior::new(rows, self.beta.clone(), self.covariance.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three seasons, watched on every third day up to the sixtieth, with these counts.
    fn fitted(count: impl Fn(usize) -> u32) -> PassageCurve {
        let days = (0..=60).step_by(3);
        let nights = (0..3).flat_map(|season| days.clone().map(move |offset| (season, offset)));
        let sightings: Vec<Sighting> = nights
            .map(|(season, offset)| Sighting {
                offset,
                season,
                log_effort: 0.0,
                count: Count::Exactly(count(offset)),
            })
            .collect();
        fit(71, &[0.0; 3], &sightings).expect("a curve")
    }

    #[test]
    fn beyond_the_last_visit_nothing_rises() {
        let rising = fitted(|day| 2u32.pow((day / 10) as u32));
        assert!(rising.drawn(70.0) > rising.drawn(60.0) + 0.5);
        assert_eq!(
            rising.log_mean_and_slope(70.0),
            (rising.log_mean(60.0), 0.0)
        );
        let on_days = rising.posterior();
        assert_eq!(on_days.mean()[70], on_days.mean()[60]);
        let passing = fitted(|day| if (20..45).contains(&day) { 8 } else { 0 });
        assert!(passing.log_mean(66.0) < passing.log_mean(60.0));
        assert_eq!(passing.log_mean(66.0), passing.drawn(66.0));
    }
}
