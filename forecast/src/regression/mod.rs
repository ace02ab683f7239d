//! Negative binomial and Poisson regression without penalty: log link, any covariates, offset,
//! theta by maximum likelihood (Hilbe 2011, Negative Binomial Regression, 2nd ed., "NB2";
//! Venables & Ripley 2002, Modern Applied Statistics with S, 4th ed., section 7.4).

mod point;
mod theta;

use crate::negative_binomial::Dispersion;
use crate::series::Count;
use crate::year_curve::design::{Design, DesignError, Observation};
use crate::year_curve::newton::FitError;
use nalgebra::{Cholesky, DMatrix, DVector};
use point::Point;
use theta::estimate;

/// How the counts scatter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scatter {
    /// As given.
    Known(Dispersion),
    /// Negative binomial, theta by maximum likelihood; ends at the Poisson limit where the
    /// counts scatter no wider than that.
    Estimated,
}

/// Why there is no fit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RegressionError {
    /// Numbers that do not fit together.
    #[error(transparent)]
    Design(#[from] DesignError),
    /// The fit failed.
    #[error(transparent)]
    Fit(#[from] FitError),
}

/// Counts with covariates, checked.
#[derive(Debug, Clone)]
pub struct CountData {
    columns: DMatrix<f64>,
    offset: Vec<f64>,
    counts: Vec<u32>,
    design: Design,
}

/// A fitted regression.
#[derive(Debug, Clone)]
pub struct Regression {
    /// Coefficients, on the log scale, one a column.
    pub coefficients: Vec<f64>,
    /// Their standard errors by expected information, theta taken as known.
    pub standard_errors: Vec<f64>,
    /// Their standard errors by observed information, theta estimated along with them; equal in
    /// kind to the above where theta is not estimated.
    pub joint_standard_errors: Vec<f64>,
    /// Scatter of the counts.
    pub dispersion: Dispersion,
    /// Theta's standard error with the means held fixed; None where theta was not estimated.
    pub theta_standard_error: Option<f64>,
    /// Standard error of log theta, estimated jointly with the coefficients.
    pub log_theta_joint_standard_error: Option<f64>,
    /// Log likelihood with all constants.
    pub log_likelihood: f64,
    /// Twice the log likelihood short of a perfect fit at the same theta.
    pub deviance: f64,
    /// The deviance of a common mean (with the offset) at the same theta.
    pub null_deviance: f64,
    /// Observations less coefficients.
    pub residual_df: usize,
    /// Parameters estimated, theta included.
    pub parameters: usize,
}

impl Regression {
    /// Akaike's information criterion.
    pub fn aic(&self) -> f64 {
        2.0 * (self.parameters as f64 - self.log_likelihood)
    }
}

impl CountData {
    /// `columns` is observations by covariates (the intercept is a column like any other);
    /// `offset` is on the log scale.
    pub fn new(
        columns: DMatrix<f64>,
        offset: Vec<f64>,
        counts: Vec<u32>,
    ) -> Result<Self, RegressionError> {
        let design = design(&columns, &offset, &counts)?;
        Ok(CountData {
            columns,
            offset,
            counts,
            design,
        })
    }

    /// Maximum likelihood fit.
    pub fn fit(&self, scatter: Scatter) -> Result<Regression, RegressionError> {
        if self.counts.iter().all(|y| *y == 0) {
            return Err(FitError::NoBirds.into());
        }
        let point = match scatter {
            Scatter::Known(dispersion) => Point::at(self, dispersion, self.start()?)?,
            Scatter::Estimated => estimate(self, self.start()?)?,
        };
        let null = self.null_means(point.dispersion)?;
        Ok(point.finish(self, scatter == Scatter::Estimated, &null)?)
    }

    /// Least squares on log(count + 1/2), as close as the search for theta needs.
    fn start(&self) -> Result<DVector<f64>, FitError> {
        let rows = self.counts.iter().zip(&self.offset);
        let log = DVector::from_iterator(
            self.counts.len(),
            rows.map(|(y, o)| (f64::from(*y) + 0.5).ln() - o),
        );
        let gram = Cholesky::new(self.columns.transpose() * &self.columns);
        let right = self.columns.transpose() * log;
        Ok(gram.ok_or(FitError::Singular)?.solve(&right))
    }

    /// Means of the fit with nothing but a common mean.
    fn null_means(&self, dispersion: Dispersion) -> Result<Vec<f64>, RegressionError> {
        let ones = DMatrix::from_element(self.counts.len(), 1, 1.0);
        let null = CountData::new(ones, self.offset.clone(), self.counts.clone())?;
        Ok(Point::at(&null, dispersion, null.start()?)?.mu)
    }

    fn deviance(&self, mu: &[f64], dispersion: Dispersion) -> f64 {
        let rows = self.counts.iter().zip(mu);
        rows.map(|(y, m)| unit_deviance(f64::from(*y), *m, dispersion))
            .sum()
    }
}

/// Rows with equal covariates share a row of the table.
fn design(columns: &DMatrix<f64>, offset: &[f64], counts: &[u32]) -> Result<Design, DesignError> {
    if columns.nrows() != counts.len() || offset.len() != counts.len() {
        return Err(DesignError(
            "covariates, offsets and counts differ in number",
        ));
    }
    if columns.ncols() == 0 || counts.len() < columns.ncols() {
        return Err(DesignError("there are fewer counts than coefficients"));
    }
    let mut seen: std::collections::HashMap<Vec<u64>, usize> = std::collections::HashMap::new();
    let mut first = Vec::new();
    let rows: Vec<Observation> = (0..counts.len())
        .map(|i| {
            let key = columns.row(i).iter().map(|v| v.to_bits()).collect();
            let row = *seen.entry(key).or_insert_with(|| {
                first.push(i);
                first.len() - 1
            });
            Observation {
                row,
                group: 0,
                offset: offset[i],
                count: Count::Exactly(counts[i]),
            }
        })
        .collect();
    Design::new(&columns.select_rows(&first), 0, &rows)
}

/// Twice the log likelihood of a count `y` lost against a mean that equals it.
pub fn unit_deviance(y: f64, mu: f64, dispersion: Dispersion) -> f64 {
    let ratio = if y > 0.0 { y * (y / mu).ln() } else { 0.0 };
    let rest = match dispersion {
        Dispersion::Poisson => y - mu,
        Dispersion::Theta(theta) => (y + theta) * ((y - mu) / (mu + theta)).ln_1p(),
    };
    2.0 * (ratio - rest)
}
