//! The regression at one theta.

use super::{CountData, Regression};
use crate::negative_binomial::Dispersion;
use crate::year_curve::likelihood::full_row;
use crate::year_curve::newton::{Coefficients, FitError, Hessian, Smoothing, maximise};
use nalgebra::{DMatrix, DVector};

/// Coefficients at their best for one theta.
pub(super) struct Point {
    pub dispersion: Dispersion,
    pub beta: DVector<f64>,
    pub mu: Vec<f64>,
    pub log_likelihood: f64,
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
    pub fn at(
        data: &CountData,
        dispersion: Dispersion,
        start: DVector<f64>,
    ) -> Result<Self, FitError> {
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
    pub fn excess_scatter(&self, data: &CountData) -> f64 {
        let rows = data.counts.iter().zip(&self.mu);
        rows.map(|(y, m)| (f64::from(*y) - m).powi(2) - f64::from(*y))
            .sum()
    }

    /// Theta at which the counts' variance matches, to start from.
    pub fn moment_theta(&self, data: &CountData) -> f64 {
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
    pub fn profile(&self, data: &CountData) -> Result<(f64, f64), FitError> {
        let hessian = self.hessian(data, &self.observed)?;
        let (pull, _) = hessian.solve(&self.cross, &DVector::zeros(0));
        Ok((self.by_tau.0, -self.by_tau.1 - self.cross.dot(&pull)))
    }

    fn expected(&self) -> Vec<f64> {
        let weight = |m: &f64| self.dispersion.theta().map_or(*m, |t| m * t / (m + t));
        self.mu.iter().map(weight).collect()
    }

    pub fn finish(
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
