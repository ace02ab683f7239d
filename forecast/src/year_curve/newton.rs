//! Coefficients for given smoothing: penalised maximum likelihood by Newton's method with
//! observed information and step halving.

use super::design::{Design, Information};
use super::likelihood::step_row;
use crate::negative_binomial::Dispersion;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// How the coefficients are penalised.
#[derive(Debug, Clone)]
pub struct Smoothing {
    /// lambda S on the table's columns plus any fixed ridge; zeros leave a column free.
    pub penalty: DMatrix<f64>,
    /// lambda S alone.
    pub scaled: DMatrix<f64>,
    /// Precision of the groups' intercepts.
    pub group_precision: f64,
    /// Scatter of the counts.
    pub dispersion: Dispersion,
}

/// Coefficients at the optimum.
#[derive(Debug, Clone)]
pub struct Coefficients {
    /// Of the table's columns.
    pub beta: DVector<f64>,
    /// Of the groups.
    pub groups: DVector<f64>,
}

/// The fit could not be finished.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FitError {
    /// The information matrix is not positive definite.
    #[error("the counts do not determine the curve: its information matrix is singular")]
    Singular,
    /// Newton's method ran out of steps.
    #[error("the fit did not converge in {0} steps")]
    NotConverged(usize),
    /// Not one bird: the curve runs to zero.
    #[error("no bird was counted, so there is no curve")]
    NoBirds,
}

const MAX_STEPS: usize = 200;

/// Penalised log likelihood, theta's own terms and constants left out.
fn objective(design: &Design, c: &Coefficients, s: &Smoothing, eta: &[f64]) -> f64 {
    let rows = design.counts().iter().zip(eta);
    let fit: f64 = rows
        .filter_map(|(y, e)| step_row(*y, *e, s.dispersion))
        .map(|r| r.0)
        .sum();
    fit - 0.5 * penalty_value(c, s)
}

/// b'(lambda S)b + precision |g|^2.
pub fn penalty_value(c: &Coefficients, s: &Smoothing) -> f64 {
    c.beta.dot(&(&s.penalty * &c.beta)) + s.group_precision * c.groups.norm_squared()
}

/// Maximises the penalised likelihood from `start`.
pub fn maximise(
    design: &Design,
    s: &Smoothing,
    start: Coefficients,
) -> Result<Coefficients, FitError> {
    let mut at = start;
    let mut eta = design.predictor(&at.beta, &at.groups);
    let mut value = objective(design, &at, s, &eta);
    // steps that promise less than the value's own rounding
    let mut stalled = 0;
    for _ in 0..MAX_STEPS {
        let (step, gain) = newton_step(design, s, &at, &eta)?;
        stalled += usize::from(gain < 1e-10 * (1.0 + value.abs()));
        let mut scale = 1.0;
        loop {
            let trial = Coefficients {
                beta: &at.beta + &step.beta * scale,
                groups: &at.groups + &step.groups * scale,
            };
            let trial_eta = design.predictor(&trial.beta, &trial.groups);
            let trial_value = objective(design, &trial, s, &trial_eta);
            // rounding in the value is forgiven where the promised gain lies below it
            let slack = 1e-12 * (1.0 + value.abs());
            if trial_value.is_finite() && trial_value >= value - slack {
                (at, eta, value) = (trial, trial_eta, trial_value);
                break;
            }
            scale *= 0.5;
            if scale < 1e-9 {
                let done = stalled > 0;
                return if done {
                    Ok(at)
                } else {
                    Err(FitError::NotConverged(MAX_STEPS))
                };
            }
        }
        // half the Newton decrement bounds what is left to gain near the optimum; one more
        // quadratic step after it is tiny leaves errors far below any tolerance here
        if gain < 1e-13 * (1.0 + value.abs()) || stalled > 3 {
            return Ok(at);
        }
    }
    Err(FitError::NotConverged(MAX_STEPS))
}

fn newton_step(
    design: &Design,
    s: &Smoothing,
    at: &Coefficients,
    eta: &[f64],
) -> Result<(Coefficients, f64), FitError> {
    let mut slopes = Vec::with_capacity(eta.len());
    let mut weights = Vec::with_capacity(eta.len());
    for (y, e) in design.counts().iter().zip(eta) {
        let (_, slope, weight) = step_row(*y, *e, s.dispersion).unwrap_or_default();
        slopes.push(slope);
        weights.push(weight);
    }
    let (mut beta, mut groups) = design.transpose_times(&slopes);
    beta -= &s.penalty * &at.beta;
    groups -= &at.groups * s.group_precision;
    let hessian = Hessian::new(design.information(&weights), s)?;
    let (step_beta, step_groups) = hessian.solve(&beta, &groups);
    let gain = 0.5 * (beta.dot(&step_beta) + groups.dot(&step_groups));
    Ok((
        Coefficients {
            beta: step_beta,
            groups: step_groups,
        },
        gain,
    ))
}

/// X'WX + penalties, factored by eliminating the groups' diagonal block.
#[derive(Debug, Clone)]
pub struct Hessian {
    schur: Cholesky<f64, Dyn>,
    cross: DMatrix<f64>,
    diagonal: DVector<f64>,
}

impl Hessian {
    /// Factors the penalised information.
    pub fn new(info: Information, s: &Smoothing) -> Result<Self, FitError> {
        let diagonal = info.diagonal.map(|d| d + s.group_precision);
        if diagonal.iter().any(|d| d.is_nan() || *d <= 0.0) {
            return Err(FitError::Singular);
        }
        let mut schur = info.square + &s.penalty;
        if !diagonal.is_empty() {
            let mut scaled = info.cross.clone();
            for (g, d) in diagonal.iter().enumerate() {
                scaled.column_mut(g).unscale_mut(*d);
            }
            schur -= scaled * info.cross.transpose();
        }
        let schur = Cholesky::new(schur).ok_or(FitError::Singular)?;
        Ok(Hessian {
            schur,
            cross: info.cross,
            diagonal,
        })
    }

    /// H^-1 (b, g).
    pub fn solve(&self, b: &DVector<f64>, g: &DVector<f64>) -> (DVector<f64>, DVector<f64>) {
        if self.diagonal.is_empty() {
            return (self.schur.solve(b), g.clone());
        }
        let reduced = b - &self.cross * g.component_div(&self.diagonal);
        let beta = self.schur.solve(&reduced);
        let groups = (g - self.cross.transpose() * &beta).component_div(&self.diagonal);
        (beta, groups)
    }

    /// log |H|.
    pub fn log_determinant(&self) -> f64 {
        let factor = self.schur.l_dirty();
        let square: f64 = (0..factor.nrows()).map(|i| 2.0 * factor[(i, i)].ln()).sum();
        square + self.diagonal.iter().map(|d| d.ln()).sum::<f64>()
    }

    /// H^-1 in blocks.
    pub fn inverse(&self) -> Inverse {
        let square = self.schur.inverse();
        let groups = self.diagonal.len();
        let mut scaled = self.cross.clone();
        for g in 0..groups {
            scaled.column_mut(g).unscale_mut(self.diagonal[g]);
        }
        let cross = -(&square * &scaled);
        let mut group_block = -(scaled.transpose() * &cross);
        for g in 0..groups {
            group_block[(g, g)] += 1.0 / self.diagonal[g];
        }
        Inverse {
            square,
            cross,
            group_block,
        }
    }
}

/// H^-1 in blocks.
#[derive(Debug, Clone)]
pub struct Inverse {
    /// Table columns by table columns.
    pub square: DMatrix<f64>,
    /// Table columns by groups.
    pub cross: DMatrix<f64>,
    /// Groups by groups.
    pub group_block: DMatrix<f64>,
}
