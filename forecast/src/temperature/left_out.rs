//! How far off the link would have been for seasons that it had not seen: one season is left out
//! at a time, and weights, scaling and penalty are found anew from the others.

use super::elastic_net::{self, ElasticNetError, Fitted, Params, Rows, largest_penalty};
use crate::season_shift::{SeasonShift, weighted_mean, weights_about_mean};
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

/// Half lasso, half ridge: neighbouring windows are correlated, and a lasso alone would pick one
/// of them by chance (Zou & Hastie 2005, section 2.3).
const L1_RATIO: f64 = 0.5;
/// Penalties tried, as parts of the largest that makes sense: 1 down to 0.02 in even ratios.
const PENALTIES: usize = 7;
const WEAKEST: f64 = 0.02;
/// Folds by which the penalty is chosen, every fifth season together.
const FOLDS: usize = 5;
/// Far below any error that the gate could notice.
const TOLERANCE: f64 = 1e-4;

/// What each season's shift was said to be by the others.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LeftOut {
    /// Weighted root mean square error of the link, days.
    pub error_days: f64,
    /// The same of the others' weighted mean.
    pub baseline_days: f64,
    /// Mean by which the link lowers the squared error, days squared.
    pub gain: f64,
    /// Its standard error.
    pub gain_se: f64,
}

/// The rows of seasons, weighted from their own shifts.
pub(super) fn rows(x: DMatrix<f64>, seasons: &[SeasonShift]) -> Result<Rows, ElasticNetError> {
    let y = seasons.iter().map(|s| s.shift_days()).collect();
    Rows::new(x, y, weights_about_mean(seasons))
}

/// Fits with the penalty that does best on folds of the rows. Shifts are brought to unit
/// variance first: the lasso's part of a penalty is in days and the ridge's is not, so their
/// balance would hang on the unit (as glmnet does, Friedman, Hastie & Tibshirani 2010).
pub(super) fn fit(rows: &Rows) -> Result<Fitted, ElasticNetError> {
    let mean = weighted_mean(rows.y().iter().copied(), rows.weights());
    let squares = rows.y().iter().map(|y| (y - mean).powi(2));
    let sd = match weighted_mean(squares, rows.weights()).sqrt() {
        0.0 => 1.0,
        sd => sd,
    };
    let unit = rows.y().iter().map(|y| y / sd).collect();
    let unit = Rows::new(rows.x().clone(), unit, rows.weights().to_vec())?;
    let fitted = at(&unit, best_penalty(&unit)?)?;
    Ok(Fitted {
        intercept: fitted.intercept * sd,
        coefficients: fitted.coefficients.iter().map(|b| b * sd).collect(),
        ..fitted
    })
}

fn best_penalty(rows: &Rows) -> Result<f64, ElasticNetError> {
    let most = largest_penalty(rows, L1_RATIO, true);
    let step = WEAKEST.powf(1.0 / (PENALTIES as f64 - 1.0));
    let mut best = (f64::INFINITY, most);
    for k in 0..PENALTIES {
        let penalty = most * step.powi(k as i32);
        let squares = squares_over_folds(rows, penalty)?;
        if squares < best.0 {
            best = (squares, penalty);
        }
    }
    Ok(best.1)
}

fn at(rows: &Rows, penalty: f64) -> Result<Fitted, ElasticNetError> {
    let params = Params {
        penalty,
        l1_ratio: L1_RATIO,
        standardise: true,
        tolerance: TOLERANCE,
    };
    elastic_net::fit(rows, &params.check()?)
}

fn squares_over_folds(rows: &Rows, penalty: f64) -> Result<f64, ElasticNetError> {
    let mut sum = 0.0;
    for fold in 0..FOLDS.min(rows.len()) {
        let Some(others) = rows.only(|i| i % FOLDS != fold) else {
            continue;
        };
        let fitted = at(&others, penalty)?;
        for i in (fold..rows.len()).step_by(FOLDS) {
            let miss = rows.y()[i] - fitted.at(rows.x().row(i).iter());
            sum += rows.weights()[i] * miss * miss;
        }
    }
    Ok(sum)
}

/// Leaves out one season at a time. `x` has a row a season.
pub(super) fn leave_one_out(
    x: &DMatrix<f64>,
    seasons: &[SeasonShift],
) -> Result<LeftOut, ElasticNetError> {
    let (mut link, mut mean) = (Vec::new(), Vec::new());
    for (i, season) in seasons.iter().enumerate() {
        let mut others = seasons.to_vec();
        others.remove(i);
        let known = rows(x.clone().remove_row(i), &others)?;
        let usual = weighted_mean(known.y().iter().copied(), known.weights());
        link.push(season.shift_days() - fit(&known)?.at(x.row(i).iter()));
        mean.push(season.shift_days() - usual);
    }
    Ok(compare(&link, &mean, &weights_about_mean(seasons)))
}

fn compare(link: &[f64], mean: &[f64], weights: &[f64]) -> LeftOut {
    let n = weights.len() as f64;
    let gains: Vec<f64> = mean.iter().zip(link).map(|(m, l)| m * m - l * l).collect();
    let gain = weighted_mean(gains.iter().copied(), weights);
    let scatter: f64 = gains
        .iter()
        .zip(weights)
        .map(|(g, w)| (w * (g - gain)).powi(2))
        .sum();
    LeftOut {
        error_days: crate::straight_line::root_mean_square(link, weights),
        baseline_days: crate::straight_line::root_mean_square(mean, weights),
        gain,
        gain_se: (scatter * n / (n - 1.0)).sqrt() / weights.iter().sum::<f64>(),
    }
}
