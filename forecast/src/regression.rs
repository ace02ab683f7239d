//! Negative binomial and Poisson regression without penalty: log link, any covariates, offset,
//! theta by maximum likelihood (Hilbe 2011, Negative Binomial Regression, 2nd ed., "NB2";
//! Venables & Ripley 2002, Modern Applied Statistics with S, 4th ed., section 7.4).

use crate::negative_binomial::Dispersion;
use crate::series::Count;
use crate::year_curve::design::{Design, DesignError, Observation};
use crate::year_curve::likelihood::full_row;
use crate::year_curve::newton::{Coefficients, FitError, Hessian, Smoothing, maximise};
use nalgebra::{Cholesky, DMatrix, DVector};

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

/// Longest step of log theta.
const LONGEST_STEP: f64 = 2.0;
/// Beyond this log theta the Poisson limit is what the likelihood can tell.
const POISSON_BEYOND: f64 = 18.0;
const MAX_STEPS: usize = 200;

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
            Scatter::Estimated => self.estimate_theta()?,
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

    /// Newton's method on the profile likelihood of log theta.
    fn estimate_theta(&self) -> Result<Point, FitError> {
        let poisson = Point::at(self, Dispersion::Poisson, self.start()?)?;
        if poisson.excess_scatter(self) <= 0.0 {
            return Ok(poisson);
        }
        let mut tau = poisson.moment_theta(self).ln();
        let mut at = Point::at(
            self,
            Dispersion::Theta(tau.exp()),
            poisson.beta.as_slice().to_vec().into(),
        )?;
        for _ in 0..MAX_STEPS {
            let (slope, bend) = at.profile(self)?;
            if slope.abs() < 1e-9 * (1.0 + at.log_likelihood.abs()).sqrt() {
                return Ok(at);
            }
            // where the profile bends upwards, walk uphill by a fixed pace
            let newton = if bend > 0.0 {
                slope / bend
            } else {
                slope.signum()
            };
            let mut step = newton.clamp(-LONGEST_STEP, LONGEST_STEP);
            let next = loop {
                let dispersion = Dispersion::Theta((tau + step).exp());
                let trial = Point::at(self, dispersion, at.beta.clone())?;
                let slack = 1e-12 * (1.0 + at.log_likelihood.abs());
                if trial.log_likelihood >= at.log_likelihood - slack {
                    break trial;
                }
                step *= 0.5;
                if step.abs() < 1e-9 {
                    return Ok(at);
                }
            };
            (at, tau) = (next, tau + step);
            if tau > POISSON_BEYOND {
                return Ok(poisson);
            }
        }
        Err(FitError::NotConverged(MAX_STEPS))
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

/// Coefficients at their best for one theta.
struct Point {
    dispersion: Dispersion,
    beta: DVector<f64>,
    mu: Vec<f64>,
    log_likelihood: f64,
    /// d by log theta, d2 by log theta twice.
    by_tau: (f64, f64),
    /// X' d2l/(d eta d tau)
    cross: DVector<f64>,
    observed: Vec<f64>,
}

fn free(width: usize, dispersion: Dispersion) -> Smoothing {
    Smoothing {
        penalty: DMatrix::zeros(width, width),
        scaled: DMatrix::zeros(width, width),
        group_precision: 0.0,
        dispersion,
    }
}

impl Point {
    fn at(data: &CountData, dispersion: Dispersion, start: DVector<f64>) -> Result<Self, FitError> {
        let design = &data.design;
        let none = DVector::zeros(0);
        let start = Coefficients {
            beta: start,
            groups: none.clone(),
        };
        let beta = maximise(design, &free(design.width(), dispersion), start)?.beta;
        let eta = design.predictor(&beta, &none);
        let rows: Vec<_> = design
            .counts()
            .iter()
            .zip(&eta)
            .map(|(y, e)| full_row(*y, *e, dispersion).unwrap_or_default())
            .collect();
        let mut by_tau = (0.0, 0.0);
        let mut value = design.constant();
        for row in &rows {
            value += row.value;
            by_tau = (by_tau.0 + row.by_tau, by_tau.1 + row.by_tau_tau);
        }
        for (y, times) in design.histogram() {
            let (first, second) = dispersion.ln_rising_by_tau(*y);
            value += times * dispersion.ln_rising(*y);
            by_tau = (by_tau.0 + times * first, by_tau.1 + times * second);
        }
        let slopes: Vec<f64> = rows.iter().map(|r| r.slope_by_tau).collect();
        Ok(Point {
            dispersion,
            beta,
            mu: eta.iter().map(|e| e.exp()).collect(),
            log_likelihood: value,
            by_tau,
            cross: design.transpose_times(&slopes).0,
            observed: rows.iter().map(|r| r.weight).collect(),
        })
    }

    /// Twice the slope of the likelihood by 1/theta at the Poisson limit: positive where the
    /// counts scatter wider than that (Dean & Lawless 1989, J. Am. Stat. Assoc. 84:467-472).
    fn excess_scatter(&self, data: &CountData) -> f64 {
        let rows = data.counts.iter().zip(&self.mu);
        rows.map(|(y, m)| (f64::from(*y) - m).powi(2) - f64::from(*y))
            .sum()
    }

    /// Theta at which the counts' variance matches, to start from.
    fn moment_theta(&self, data: &CountData) -> f64 {
        let squares: f64 = self.mu.iter().map(|m| m * m).sum();
        squares / self.excess_scatter(data)
    }

    fn hessian(&self, data: &CountData, weights: &[f64]) -> Result<Hessian, FitError> {
        let width = data.design.width();
        Hessian::new(
            data.design.information(weights),
            &free(width, self.dispersion),
        )
    }

    /// Slope of the profile likelihood by log theta and minus its second derivative.
    fn profile(&self, data: &CountData) -> Result<(f64, f64), FitError> {
        let hessian = self.hessian(data, &self.observed)?;
        let (pull, _) = hessian.solve(&self.cross, &DVector::zeros(0));
        Ok((self.by_tau.0, -self.by_tau.1 - self.cross.dot(&pull)))
    }

    fn expected(&self) -> Vec<f64> {
        let weight = |m: &f64| self.dispersion.theta().map_or(*m, |t| m * t / (m + t));
        self.mu.iter().map(weight).collect()
    }

    fn finish(
        self,
        data: &CountData,
        estimated: bool,
        null: &[f64],
    ) -> Result<Regression, FitError> {
        let expected = self.hessian(data, &self.expected())?.inverse().square;
        let observed = self.hessian(data, &self.observed)?.inverse().square;
        let theta = self.dispersion.theta().filter(|_| estimated);
        let (mut joint, mut log_theta_error) = (observed.diagonal(), None);
        if theta.is_some() {
            let pull = &observed * &self.cross;
            let (_, bend) = self.profile(data)?;
            joint += pull.component_mul(&pull) / bend;
            log_theta_error = Some(bend.sqrt().recip());
        }
        Ok(Regression {
            coefficients: self.beta.as_slice().to_vec(),
            standard_errors: expected.diagonal().iter().map(|v| v.sqrt()).collect(),
            joint_standard_errors: joint.iter().map(|v| v.sqrt()).collect(),
            theta_standard_error: theta.map(|t| t / (-self.by_tau.1).sqrt()),
            log_theta_joint_standard_error: log_theta_error,
            deviance: data.deviance(&self.mu, self.dispersion),
            null_deviance: data.deviance(null, self.dispersion),
            residual_df: data.counts.len() - self.beta.len(),
            parameters: self.beta.len() + usize::from(theta.is_some()),
            log_likelihood: self.log_likelihood,
            dispersion: self.dispersion,
        })
    }
}
