//! Weighted elastic net. The fit is linfa's; weights, scaling and the intercept, which it does
//! not know or would shrink, are seen to here.
//!
//! Minimised is sum w (y - a - x b)^2 / (2 sum w) + penalty (l1 |b|_1 + (1 - l1) |b|_2^2 / 2),
//! the intercept `a` free (Zou & Hastie 2005, J. R. Stat. Soc. B 67:301-320; the scale of the
//! penalty is that of Friedman, Hastie & Tibshirani 2010, J. Stat. Softw. 33:1-22).

use linfa::prelude::*;
use linfa_elasticnet::ElasticNet;
use nalgebra::{DMatrix, DVector};
use ndarray::{Array1, Array2, ShapeBuilder};

/// Raw settings of one fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Params {
    /// Strength of the penalty, 0 or more.
    pub penalty: f64,
    /// Part of the penalty that is a lasso's, 0 (ridge) to 1.
    pub l1_ratio: f64,
    /// Divide each column by its weighted standard deviation first; coefficients come back on
    /// the columns' own scale.
    pub standardise: bool,
    /// Duality gap, as a part of the squares of y, at which the descent stops.
    pub tolerance: f64,
}

/// Checked settings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValidParams(Params);

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ElasticNetError {
    /// A setting out of its range.
    #[error("{name} is {value}, expected {expected}")]
    Setting {
        /// which
        name: &'static str,
        /// given
        value: f64,
        /// range
        expected: &'static str,
    },
    /// One row, one response and one weight above 0 each, all finite.
    #[error("rows, responses and weights of the elastic net do not fit together")]
    Rows,
    /// The descent did not come to rest.
    #[error("the elastic net did not converge in {0} sweeps")]
    NotConverged(u32),
    /// Columns that tell the same and no penalty to choose between them.
    #[error("the columns are not independent and the penalty is too weak to choose")]
    Singular,
}

const MOST_SWEEPS: u32 = 200_000;

impl Params {
    /// Checks the ranges.
    pub fn check(self) -> Result<ValidParams, ElasticNetError> {
        let wrong = |name, value, expected| {
            Err(ElasticNetError::Setting {
                name,
                value,
                expected,
            })
        };
        if !(self.penalty >= 0.0 && self.penalty.is_finite()) {
            return wrong("penalty", self.penalty, "0 or more");
        }
        if !(0.0..=1.0).contains(&self.l1_ratio) {
            return wrong("l1_ratio", self.l1_ratio, "0 to 1");
        }
        if !(self.tolerance > 0.0 && self.tolerance < 1.0) {
            return wrong("tolerance", self.tolerance, "between 0 and 1");
        }
        Ok(ValidParams(self))
    }
}

/// Rows with their responses and weights, checked.
#[derive(Debug, Clone)]
pub struct Rows {
    x: DMatrix<f64>,
    y: Vec<f64>,
    weights: Vec<f64>,
}

impl Rows {
    /// Rows by columns.
    pub fn new(x: DMatrix<f64>, y: Vec<f64>, weights: Vec<f64>) -> Result<Self, ElasticNetError> {
        let n = x.nrows();
        let finite = x.iter().chain(&y).chain(&weights).all(|v| v.is_finite());
        let positive = weights.iter().all(|w| *w > 0.0);
        if n == 0 || y.len() != n || weights.len() != n || !finite || !positive {
            return Err(ElasticNetError::Rows);
        }
        Ok(Rows { x, y, weights })
    }

    /// Rows.
    pub fn len(&self) -> usize {
        self.y.len()
    }

    /// Never: a checked one has a row.
    pub fn is_empty(&self) -> bool {
        self.y.is_empty()
    }

    /// Columns by rows.
    pub fn x(&self) -> &DMatrix<f64> {
        &self.x
    }

    /// Responses.
    pub fn y(&self) -> &[f64] {
        &self.y
    }

    /// Weights.
    pub fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// The rows of which `keep` holds; None where it holds of none.
    pub fn only(&self, keep: impl Fn(usize) -> bool) -> Option<Rows> {
        let kept: Vec<usize> = (0..self.len()).filter(|i| keep(*i)).collect();
        (!kept.is_empty()).then(|| Rows {
            x: self.x.select_rows(&kept),
            y: kept.iter().map(|i| self.y[*i]).collect(),
            weights: kept.iter().map(|i| self.weights[*i]).collect(),
        })
    }

    fn total(&self) -> f64 {
        self.weights.iter().sum()
    }

    fn mean(&self, values: impl Iterator<Item = f64>) -> f64 {
        values.zip(&self.weights).map(|(v, w)| v * w).sum::<f64>() / self.total()
    }

    /// Centred, divided by `scale` and multiplied by the root of the weight, which brings sums
    /// of squares to those of n rows of weight 1.
    fn prepare(&self, standardise: bool) -> Prepared {
        let n = self.len() as f64;
        let root: Vec<f64> = self
            .weights
            .iter()
            .map(|w| (w * n / self.total()).sqrt())
            .collect();
        let mean_y = self.mean(self.y.iter().copied());
        let y = self
            .y
            .iter()
            .zip(&root)
            .map(|(y, r)| (y - mean_y) * r)
            .collect();
        let mut x = self.x.clone();
        let (mut means, mut scales) = (Vec::new(), Vec::new());
        for mut column in x.column_iter_mut() {
            let mean = self.mean(column.iter().copied());
            let variance = self.mean(column.iter().map(|v| (v - mean).powi(2)));
            let largest = column.amax();
            // a column that never changes tells nothing; rounding must not bring it to life
            let scale = match variance.sqrt() {
                sd if sd <= 1e-12 * largest => f64::INFINITY,
                sd if standardise => sd,
                _ => 1.0,
            };
            column
                .iter_mut()
                .zip(&root)
                .for_each(|(v, r)| *v = (*v - mean) / scale * r);
            means.push(mean);
            scales.push(scale);
        }
        Prepared {
            x,
            y,
            mean_y,
            means,
            scales,
        }
    }
}

struct Prepared {
    x: DMatrix<f64>,
    y: Vec<f64>,
    mean_y: f64,
    means: Vec<f64>,
    scales: Vec<f64>,
}

/// A fitted elastic net.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Response where every column is 0.
    pub intercept: f64,
    /// One a column, on the column's own scale.
    pub coefficients: Vec<f64>,
    /// Degrees of freedom that the coefficients take up, without the intercept (Tibshirani &
    /// Taylor 2012, Ann. Stat. 40:1198-1232).
    pub effective_df: f64,
}

impl Fitted {
    /// Response at a row.
    pub fn at<'a>(&self, row: impl IntoIterator<Item = &'a f64>) -> f64 {
        self.intercept
            + self
                .coefficients
                .iter()
                .zip(row)
                .map(|(b, x)| b * x)
                .sum::<f64>()
    }
}

/// The weakest penalty at which every coefficient is 0: max |x' y| / (n l1_ratio).
pub fn largest_penalty(rows: &Rows, l1_ratio: f64, standardise: bool) -> f64 {
    let prepared = rows.prepare(standardise);
    let y = DVector::from_column_slice(&prepared.y);
    prepared.x.tr_mul(&y).amax() / (rows.len() as f64 * l1_ratio)
}

/// Fits an elastic net.
pub fn fit(rows: &Rows, params: &ValidParams) -> Result<Fitted, ElasticNetError> {
    let Params {
        penalty,
        l1_ratio,
        standardise,
        ..
    } = params.0;
    let prepared = rows.prepare(standardise);
    let ridge = rows.len() as f64 * penalty * (1.0 - l1_ratio);
    let scaled = if penalty * l1_ratio > 0.0 {
        descend(&prepared, &params.0)?
    } else {
        // without a lasso's part the duality gap, which stops the descent, never closes
        closed_form(&prepared, ridge)?
    };
    let effective_df = effective_df(&prepared, &scaled, ridge)?;
    let coefficients: Vec<f64> = scaled
        .iter()
        .zip(&prepared.scales)
        .map(|(b, scale)| b / scale)
        .collect();
    let at_means: f64 = coefficients
        .iter()
        .zip(&prepared.means)
        .map(|(b, m)| b * m)
        .sum();
    Ok(Fitted {
        intercept: prepared.mean_y - at_means,
        coefficients,
        effective_df,
    })
}

fn descend(prepared: &Prepared, params: &Params) -> Result<Vec<f64>, ElasticNetError> {
    let shape = (prepared.x.nrows(), prepared.x.ncols());
    // columns in one piece: the descent goes through them one by one
    let x = Array2::from_shape_fn(shape.f(), |at| prepared.x[at]);
    let y = Array1::from(prepared.y.clone());
    let squares = y.dot(&y);
    if squares == 0.0 {
        return Ok(vec![0.0; shape.1]);
    }
    let net = ElasticNet::<f64>::params()
        .penalty(params.penalty)
        .l1_ratio(params.l1_ratio)
        .with_intercept(false)
        .tolerance(params.tolerance)
        .max_iterations(MOST_SWEEPS)
        .fit(&Dataset::new(x, y))
        .map_err(|_| ElasticNetError::Rows)?;
    // it returns what it has when its sweeps run out
    if net.n_steps() >= MOST_SWEEPS && net.duality_gap() >= params.tolerance * squares {
        return Err(ElasticNetError::NotConverged(MOST_SWEEPS));
    }
    Ok(net.hyperplane().to_vec())
}

/// Columns that change, and those of them with a coefficient unless it is a ridge's.
fn active(prepared: &Prepared, with: impl Fn(usize) -> bool) -> DMatrix<f64> {
    let all = 0..prepared.x.ncols();
    let kept: Vec<usize> = all
        .filter(|j| prepared.scales[*j].is_finite() && with(*j))
        .collect();
    prepared.x.select_columns(&kept)
}

fn closed_form(prepared: &Prepared, ridge: f64) -> Result<Vec<f64>, ElasticNetError> {
    let x = active(prepared, |_| true);
    let y = DVector::from_column_slice(&prepared.y);
    let solved = solve(&x, ridge, &x.tr_mul(&DMatrix::from_columns(&[y])))?;
    let mut rest = solved.iter();
    let one = |scale: &f64| {
        if scale.is_finite() {
            rest.next().copied()
        } else {
            Some(0.0)
        }
    };
    let all: Option<Vec<f64>> = prepared.scales.iter().map(one).collect();
    all.ok_or(ElasticNetError::Singular)
}

/// (x'x + ridge)^-1 times `right`.
fn solve(
    x: &DMatrix<f64>,
    ridge: f64,
    right: &DMatrix<f64>,
) -> Result<DMatrix<f64>, ElasticNetError> {
    if x.ncols() == 0 {
        return Ok(DMatrix::zeros(0, right.ncols()));
    }
    let mut gram = x.tr_mul(x);
    let largest = gram.diagonal().amax();
    (0..gram.nrows()).for_each(|i| gram[(i, i)] += ridge);
    let cholesky = gram.cholesky().ok_or(ElasticNetError::Singular)?;
    let least = cholesky
        .l_dirty()
        .diagonal()
        .iter()
        .map(|d| d * d)
        .fold(f64::INFINITY, f64::min);
    // a pivot that rounding alone may have left
    if least <= 1e-13 * largest {
        return Err(ElasticNetError::Singular);
    }
    Ok(cholesky.solve(right))
}

/// Trace of the smoother of the active columns.
fn effective_df(prepared: &Prepared, b: &[f64], ridge: f64) -> Result<f64, ElasticNetError> {
    let x = active(prepared, |j| b[j] != 0.0);
    let inner = solve(&x, ridge, &x.tr_mul(&x))?;
    Ok(inner.trace())
}

#[cfg(test)]
mod tests;
