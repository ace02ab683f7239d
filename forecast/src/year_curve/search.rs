//! Search for the smoothing parameters and theta: Newton steps on the criterion with its exact
//! gradient, and both limits (flat curve, Poisson) taken as results.

use super::newton::{Coefficients, FitError};
use super::reml::{Evaluation, Hyper, Model};
use nalgebra::{DVector, Matrix3, SymmetricEigen, Vector3};

/// Which of (log lambda, log precision, log theta) are estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Free {
    /// lambda of the curve.
    pub lambda: bool,
    /// Precision of the groups.
    pub precision: bool,
    /// theta.
    pub theta: bool,
}

/// Largest move in one step, in log units.
const LONGEST_STEP: f64 = 4.0;
/// Largest component of the gradient that counts as the optimum: parameters are then right to
/// about 1e-5 of themselves, since the criterion's curvature is rarely below 0.1.
const FLAT: f64 = 1e-6;
const MAX_STEPS: usize = 120;
/// Steps by the criterion's approximate curvature, which leaves out how the weights move; where
/// that matters (counts without numbers) more of them would creep or swing to and fro.
const APPROXIMATE_STEPS: usize = 25;
/// Steps whose secants mend the approximate curvature.
const SECANTS: usize = 3;
/// Beyond this theta the Poisson limit is tried.
const POISSON_BEYOND: f64 = 1e4;
/// The limit is taken where it costs no more of the criterion than this.
const POISSON_COST: f64 = 1e-4;

/// Minimises the criterion from `start`.
pub fn search(model: &Model, start: Hyper, free: Free) -> Result<Evaluation, FitError> {
    let design = &model.design;
    let birds: f64 = design.counts().iter().map(|c| f64::from(c.birds())).sum();
    if birds == 0.0 {
        return Err(FitError::NoBirds);
    }
    let zero = Coefficients {
        beta: DVector::zeros(design.width()),
        groups: DVector::zeros(design.groups()),
    };
    let found = descend(model, model.evaluate(start, zero)?, free)?;
    let theta = found.hyper.log_theta.map(f64::exp);
    if free.theta && theta.is_some_and(|t| t > POISSON_BEYOND) {
        let limit = Hyper {
            log_theta: None,
            ..found.hyper
        };
        let first = model.evaluate(limit, found.coefficients.clone())?;
        let limit = descend(model, first, free)?;
        if limit.value <= found.value + POISSON_COST {
            return Ok(limit);
        }
    }
    Ok(found)
}

fn descend(model: &Model, mut at: Evaluation, free: Free) -> Result<Evaluation, FitError> {
    let groups = model.design.groups() > 0;
    let mut recent: Vec<Secant> = Vec::new();
    for steps in 0..MAX_STEPS {
        let use_theta = free.theta && at.hyper.log_theta.is_some();
        let (low, high) = model.priors.log_lambda_range;
        // at an end of its range, and wanting out: the end is the result
        let ended = (at.hyper.log_lambda >= high && at.gradient[0] < 0.0)
            || (at.hyper.log_lambda <= low && at.gradient[0] > 0.0);
        let mask = [
            free.lambda && model.penalty.rank() > 0 && !ended,
            free.precision && groups,
            use_theta,
        ];
        let gradient = Vector3::from_fn(|i, _| if mask[i] { at.gradient[i] } else { 0.0 });
        let poisson_bound = use_theta && at.hyper.log_theta.is_some_and(|t| t > 18.0);
        if gradient.amax() < FLAT || poisson_bound {
            return Ok(at);
        }
        let curvature = match steps {
            0..APPROXIMATE_STEPS => recent.iter().fold(at.curvature, Secant::correct),
            _ => curvature_by_differences(model, &at, mask).unwrap_or(at.curvature),
        };
        let mut step = newton_direction(curvature, &gradient, mask);
        step[0] = step[0].clamp(low - at.hyper.log_lambda, high - at.hyper.log_lambda);
        let least = model.priors.least_gain.max(1e-12 * (1.0 + at.value.abs()));
        let promised = gradient.dot(&step).abs();
        if promised < least {
            return Ok(at);
        }
        match improve(model, &at, &step, &gradient)? {
            Some(better) => {
                recent.push(Secant::between(&at, &better, mask));
                recent.drain(..recent.len().saturating_sub(SECANTS));
                at = better;
            }
            // no downhill step left at the precision of the criterion itself
            None if gradient.amax() < 1e-3 || promised < 100.0 * least => return Ok(at),
            // what the last steps said may not hold here
            None if !recent.is_empty() => recent.clear(),
            None => return Err(FitError::NotConverged(MAX_STEPS)),
        }
    }
    Err(FitError::NotConverged(MAX_STEPS))
}

/// How the gradient changed along a step: what the curvature must say of that direction.
struct Secant {
    step: Vector3<f64>,
    change: Vector3<f64>,
}

impl Secant {
    fn between(from: &Evaluation, to: &Evaluation, mask: [bool; 3]) -> Self {
        let free = Vector3::from_fn(|i, _| f64::from(mask[i]));
        let moved = |f: Hyper, t: Hyper| {
            let tau = t.log_theta.unwrap_or(0.0) - f.log_theta.unwrap_or(0.0);
            Vector3::new(
                t.log_lambda - f.log_lambda,
                t.log_precision - f.log_precision,
                tau,
            )
        };
        Secant {
            step: moved(from.hyper, to.hyper).component_mul(&free),
            change: (to.gradient - from.gradient).component_mul(&free),
        }
    }

    /// The update of Broyden, Fletcher, Goldfarb and Shanno (Nocedal & Wright 2006, Numerical
    /// Optimization, equation 6.19), left out where it would not keep the curvature positive.
    fn correct(curvature: Matrix3<f64>, secant: &Secant) -> Matrix3<f64> {
        let pull = curvature * secant.step;
        let (before, after) = (pull.dot(&secant.step), secant.change.dot(&secant.step));
        if before <= 0.0 || after <= 1e-3 * before {
            return curvature;
        }
        curvature - pull * pull.transpose() / before
            + secant.change * secant.change.transpose() / after
    }
}

/// Curvature from the exact gradient a short way off.
fn curvature_by_differences(
    model: &Model,
    at: &Evaluation,
    mask: [bool; 3],
) -> Result<Matrix3<f64>, FitError> {
    let short = 1e-4;
    let mut curvature = at.curvature;
    for i in (0..3).filter(|i| mask[*i]) {
        let mut step = Vector3::zeros();
        step[i] = short;
        let beside = model.evaluate(at.hyper.moved(&step), predict(at, &step))?;
        curvature.set_column(i, &((beside.gradient - at.gradient) / short));
    }
    Ok((curvature + curvature.transpose()) * 0.5)
}

fn newton_direction(
    mut curvature: Matrix3<f64>,
    gradient: &Vector3<f64>,
    mask: [bool; 3],
) -> Vector3<f64> {
    for i in (0..3).filter(|i| !mask[*i]) {
        for j in 0..3 {
            curvature[(i, j)] = f64::from(i == j);
            curvature[(j, i)] = f64::from(i == j);
        }
    }
    let eigen = SymmetricEigen::new(curvature);
    let largest = eigen.eigenvalues.amax().max(1e-12);
    // where the criterion bends the wrong way, walk downhill at the same pace
    let bent = eigen.eigenvalues.map(|v| v.abs().max(largest * 1e-7));
    let along = eigen.eigenvectors.transpose() * gradient;
    let step = -(eigen.eigenvectors * along.component_div(&bent));
    let longest = step.amax();
    if longest > LONGEST_STEP {
        step * (LONGEST_STEP / longest)
    } else {
        step
    }
}

fn improve(
    model: &Model,
    at: &Evaluation,
    step: &Vector3<f64>,
    gradient: &Vector3<f64>,
) -> Result<Option<Evaluation>, FitError> {
    let slope = gradient.dot(step);
    let mut scale = 1.0;
    while scale > 1e-6 {
        let moved = step * scale;
        let start = predict(at, &moved);
        // a wild step may leave the inner fit without a solution; a shorter one will not
        if let Ok(trial) = model.evaluate(at.hyper.moved(&moved), start) {
            let enough = at.value + 1e-4 * scale * slope + 1e-11 * (1.0 + at.value.abs());
            if trial.value <= enough {
                return Ok(Some(trial));
            }
        }
        scale *= 0.4;
    }
    Ok(None)
}

/// Where the coefficients will be after a step, to first order: a warm start.
fn predict(at: &Evaluation, step: &Vector3<f64>) -> Coefficients {
    let mut start = at.coefficients.clone();
    // far steps leave the linear range; start from where we are
    if step.amax() > 1.5 {
        return start;
    }
    for (j, m) in at.moves.iter().enumerate() {
        start.beta.axpy(step[j], &m.beta, 1.0);
        start.groups.axpy(step[j], &m.groups, 1.0);
    }
    start
}
