//! The smoothing criterion: Laplace approximate restricted likelihood of the smoothing
//! parameters and theta (Wood 2011, J. R. Statist. Soc. B 73:3-36; Wood 2017, section 6.2):
//!
//! V = -l(b) + b'S b/2 + log|X'WX + S|/2 - log|S|+/2 - M/2 log 2 pi
//!
//! with S the weighted penalties, W the observed information and M the unpenalised coefficients.

use super::design::Design;
use super::likelihood::full_row;
use super::newton::{Coefficients, FitError, Hessian, Inverse, Smoothing, maximise, penalty_value};
use super::penalty::belief;
pub use super::penalty::{Penalty, Priors};
use crate::negative_binomial::Dispersion;
use nalgebra::{DVector, Matrix3, Vector3};

/// A penalised count regression.
#[derive(Debug, Clone)]
pub struct Model {
    /// Its rows.
    pub design: Design,
    /// Unit penalty on the table's columns.
    pub penalty: Penalty,
    /// What is believed of the smoothing parameters beforehand.
    pub priors: Priors,
}

/// Smoothing parameters on the log scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hyper {
    /// log lambda of the curve.
    pub log_lambda: f64,
    /// log precision of the groups' intercepts; unused without groups.
    pub log_precision: f64,
    /// log theta; None at the Poisson limit.
    pub log_theta: Option<f64>,
}

impl Hyper {
    /// Moved by a step in (log lambda, log precision, log theta).
    pub fn moved(self, step: &Vector3<f64>) -> Self {
        Hyper {
            log_lambda: self.log_lambda + step[0],
            log_precision: self.log_precision + step[1],
            log_theta: self.log_theta.map(|t| t + step[2]),
        }
    }

    /// The scatter.
    pub fn dispersion(self) -> Dispersion {
        self.log_theta
            .map_or(Dispersion::Poisson, |t| Dispersion::Theta(t.exp()))
    }
}

/// The criterion at one point with its first derivatives and an approximation of its second.
#[derive(Debug, Clone)]
pub struct Evaluation {
    /// Where.
    pub hyper: Hyper,
    /// V; smaller is better.
    pub value: f64,
    /// dV by (log lambda, log precision, log theta).
    pub gradient: Vector3<f64>,
    /// d2V with W held fixed: exact for a Gaussian, close for counts.
    pub curvature: Matrix3<f64>,
    /// Coefficients there.
    pub coefficients: Coefficients,
    /// Derivatives of the coefficients by the three parameters.
    pub moves: [Coefficients; 3],
    /// Log likelihood with all its constants.
    pub log_likelihood: f64,
}

impl Model {
    /// The smoothing of a point.
    pub fn smoothing(&self, h: Hyper) -> Smoothing {
        let scaled = &self.penalty.matrix * h.log_lambda.exp();
        let mut penalty = scaled.clone();
        for i in 0..penalty.nrows() {
            penalty[(i, i)] += self.penalty.ridge;
        }
        Smoothing {
            penalty,
            scaled,
            group_precision: h.log_precision.exp(),
            dispersion: h.dispersion(),
        }
    }

    /// Fits the coefficients from `start` and evaluates V with its derivatives.
    pub fn evaluate(&self, hyper: Hyper, start: Coefficients) -> Result<Evaluation, FitError> {
        let smoothing = self.smoothing(hyper);
        let fit = maximise(&self.design, &smoothing, start)?;
        let rows = Rows::at(&self.design, &fit, smoothing.dispersion);
        let hessian = Hessian::new(self.design.information(&rows.weight), &smoothing)?;
        let log_likelihood = rows.value + rows.rising.0 + self.design.constant();
        let value = self.criterion(
            hyper,
            &smoothing,
            &fit,
            log_likelihood,
            hessian.log_determinant(),
        );
        let moves = self.moves(&smoothing, &fit, &rows, &hessian);
        let inverse = hessian.inverse();
        let (gradient, curvature) =
            self.derivatives(hyper, &smoothing, &fit, &rows, &moves, &inverse);
        Ok(Evaluation {
            hyper,
            value,
            gradient,
            curvature,
            coefficients: fit,
            moves,
            log_likelihood,
        })
    }

    fn criterion(
        &self,
        hyper: Hyper,
        s: &Smoothing,
        fit: &Coefficients,
        log_likelihood: f64,
        log_det: f64,
    ) -> f64 {
        let mut log_penalty = self.penalty.log_determinant(hyper.log_lambda.exp()).0;
        let beliefs = self.beliefs(hyper);
        if self.design.groups() > 0 {
            log_penalty += self.design.groups() as f64 * hyper.log_precision;
        }
        -log_likelihood + 0.5 * penalty_value(fit, s) + 0.5 * log_det
            - 0.5 * log_penalty
            - 0.5 * self.penalty.free() as f64 * std::f64::consts::TAU.ln()
            + beliefs[0].0
            + beliefs[1].0
    }

    /// How the coefficients move with each parameter, by the implicit function theorem.
    fn moves(
        &self,
        s: &Smoothing,
        fit: &Coefficients,
        rows: &Rows,
        hessian: &Hessian,
    ) -> [Coefficients; 3] {
        let no_beta = DVector::zeros(self.design.width());
        let no_groups = DVector::zeros(self.design.groups());
        let solve = |b: DVector<f64>, g: DVector<f64>| {
            let (beta, groups) = hessian.solve(&b, &g);
            Coefficients { beta, groups }
        };
        let by_theta = self.design.transpose_times(&rows.slope_by_tau);
        [
            solve(-(&s.scaled * &fit.beta), no_groups),
            solve(no_beta, -(&fit.groups * s.group_precision)),
            solve(by_theta.0, by_theta.1),
        ]
    }

    fn derivatives(
        &self,
        hyper: Hyper,
        s: &Smoothing,
        fit: &Coefficients,
        rows: &Rows,
        moves: &[Coefficients; 3],
        inverse: &Inverse,
    ) -> (Vector3<f64>, Matrix3<f64>) {
        let leverages = self.design.leverages(
            &inverse.square,
            &inverse.cross,
            &inverse.group_block.diagonal(),
        );
        let effects: Vec<Vec<f64>> = moves
            .iter()
            .map(|m| self.design.effect(&m.beta, &m.groups))
            .collect();
        // tr(H^-1 X' dW X) / 2 along each move of the coefficients
        let through_weights = |j: usize| -> f64 {
            let sum: f64 = leverages
                .iter()
                .zip(&rows.weight_slope)
                .zip(&effects[j])
                .map(|((h, w), e)| h * w * e)
                .sum();
            0.5 * sum
        };
        let sizes = [
            fit.beta.dot(&(&s.scaled * &fit.beta)),
            s.group_precision * fit.groups.norm_squared(),
        ];
        let traces = traces(s, inverse);
        let ranks = [
            self.penalty.log_determinant(hyper.log_lambda.exp()).1,
            self.design.groups() as f64,
        ];
        let mut gradient = Vector3::zeros();
        let mut curvature = Matrix3::zeros();
        for j in 0..2 {
            gradient[j] = 0.5 * (sizes[j] + traces.single[j] - ranks[j]) + through_weights(j);
            curvature[(j, j)] += 0.5 * (sizes[j] + traces.single[j]);
            for k in 0..2 {
                // b'S_j H^-1 S_k b through the moves: H^-1 S_k b = -move_k
                let pull = match j {
                    0 => fit.beta.dot(&(&s.scaled * &moves[k].beta)),
                    _ => s.group_precision * fit.groups.dot(&moves[k].groups),
                };
                curvature[(j, k)] += pull - 0.5 * traces.double[j][k];
            }
        }
        if let Some(theta) = rows.theta_terms(&leverages) {
            let along = |j: usize| -> f64 {
                rows.slope_by_tau
                    .iter()
                    .zip(&effects[j])
                    .map(|(a, b)| a * b)
                    .sum()
            };
            gradient[2] = -rows.by_tau - rows.rising.1 + 0.5 * theta + through_weights(2);
            curvature[(2, 2)] = -rows.by_tau_tau - rows.rising.2 - along(2);
            for j in 0..2 {
                curvature[(j, 2)] = -along(j);
                curvature[(2, j)] = -along(j);
            }
        }
        let [on_precision, on_theta] = self.beliefs(hyper);
        for (j, (_, slope, bend)) in [(1, on_precision), (2, on_theta)] {
            gradient[j] += slope;
            curvature[(j, j)] += bend;
        }
        (gradient, curvature)
    }

    /// What the beliefs about log precision and log theta add, where these are in the model.
    fn beliefs(&self, hyper: Hyper) -> [(f64, f64, f64); 2] {
        let precision = self
            .priors
            .log_precision
            .filter(|_| self.design.groups() > 0);
        let theta = hyper
            .log_theta
            .map_or((0.0, 0.0, 0.0), |t| belief(self.priors.log_theta, t));
        [belief(precision, hyper.log_precision), theta]
    }
}

/// Traces of H^-1 with the weighted penalties, alone and in pairs.
struct Traces {
    single: [f64; 2],
    double: [[f64; 2]; 2],
}

fn traces(s: &Smoothing, inverse: &Inverse) -> Traces {
    let smooth = &inverse.square * &s.scaled;
    let p = s.group_precision;
    let mixed = p * (inverse.cross.transpose() * &s.scaled * &inverse.cross).trace();
    Traces {
        single: [smooth.trace(), p * inverse.group_block.trace()],
        double: [
            [smooth.component_mul(&smooth.transpose()).sum(), mixed],
            [mixed, p * p * inverse.group_block.norm_squared()],
        ],
    }
}

/// Per-observation terms at a fit.
struct Rows {
    value: f64,
    weight: Vec<f64>,
    weight_slope: Vec<f64>,
    slope_by_tau: Vec<f64>,
    weight_by_tau: Vec<f64>,
    by_tau: f64,
    by_tau_tau: f64,
    /// Sum over counts of log rising factorial, and its two derivatives by tau.
    rising: (f64, f64, f64),
    free_theta: bool,
}

impl Rows {
    fn at(design: &Design, fit: &Coefficients, dispersion: Dispersion) -> Self {
        let eta = design.predictor(&fit.beta, &fit.groups);
        let n = eta.len();
        let mut rows = Rows {
            value: 0.0,
            weight: Vec::with_capacity(n),
            weight_slope: Vec::with_capacity(n),
            slope_by_tau: Vec::with_capacity(n),
            weight_by_tau: Vec::with_capacity(n),
            by_tau: 0.0,
            by_tau_tau: 0.0,
            rising: (0.0, 0.0, 0.0),
            free_theta: dispersion != Dispersion::Poisson,
        };
        for (count, e) in design.counts().iter().zip(&eta) {
            let row = full_row(*count, *e, dispersion).unwrap_or_default();
            rows.value += row.value;
            rows.weight.push(row.weight);
            rows.weight_slope.push(row.weight_slope);
            rows.slope_by_tau.push(row.slope_by_tau);
            rows.weight_by_tau.push(row.weight_by_tau);
            rows.by_tau += row.by_tau;
            rows.by_tau_tau += row.by_tau_tau;
        }
        for (y, times) in design.histogram().iter().filter(|(y, _)| *y > 1) {
            let (first, second) = dispersion.ln_rising_by_tau(*y);
            rows.rising.0 += times * dispersion.ln_rising(*y);
            rows.rising.1 += times * first;
            rows.rising.2 += times * second;
        }
        rows
    }

    /// tr(H^-1 X' dW/dtau X); None where theta is not free.
    fn theta_terms(&self, leverages: &[f64]) -> Option<f64> {
        self.free_theta.then(|| {
            leverages
                .iter()
                .zip(&self.weight_by_tau)
                .map(|(h, w)| h * w)
                .sum()
        })
    }
}
