//! A cyclic curve of a measured quantity (a site's usual daily temperature), Gaussian with
//! smoothing by REML (Wood 2017, section 6.2).

use super::basis::CyclicBasis;
use super::newton::FitError;
use super::posterior::Posterior;
use super::smooth::{Centred, Positions, centring};
use nalgebra::{Cholesky, DMatrix, DVector, SymmetricEigen};

/// How much to smooth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Smoothness {
    /// Choose lambda by REML.
    Reml,
    /// Use this lambda.
    Fixed(f64),
}

/// A fitted curve.
#[derive(Debug, Clone)]
pub struct GaussianCurve {
    /// Smoothing parameter.
    pub lambda: f64,
    /// Effective degrees of freedom, the intercept included.
    pub edf: f64,
    /// Residual variance, in squared units of the response.
    pub scale: f64,
    /// Residual sum of squares.
    pub rss: f64,
    /// The restricted likelihood criterion.
    pub reml: f64,
    centred: Centred,
    beta: DVector<f64>,
    covariance: DMatrix<f64>,
}

struct Problem {
    gram: DMatrix<f64>,
    right: DVector<f64>,
    squares: f64,
    n: f64,
    penalty: DMatrix<f64>,
    rank: f64,
    log_det: f64,
}

struct Solution {
    beta: DVector<f64>,
    factor: Cholesky<f64, nalgebra::Dyn>,
    rss: f64,
    size: f64,
}

impl Problem {
    fn solve(&self, log_lambda: f64) -> Result<Solution, FitError> {
        let penalty = &self.penalty * log_lambda.exp();
        let factor = Cholesky::new(&self.gram + &penalty).ok_or(FitError::Singular)?;
        let beta = factor.solve(&self.right);
        let rss = self.squares - 2.0 * beta.dot(&self.right) + (&self.gram * &beta).dot(&beta);
        let size = beta.dot(&(&penalty * &beta));
        Ok(Solution {
            beta,
            factor,
            rss,
            size,
        })
    }

    /// d criterion / d log lambda.
    fn gradient(&self, log_lambda: f64) -> Result<f64, FitError> {
        let s = self.solve(log_lambda)?;
        let trace = s.factor.solve(&(&self.penalty * log_lambda.exp())).trace();
        Ok(0.5 * ((self.n - 1.0) * s.size / (s.rss + s.size) + trace - self.rank))
    }

    fn criterion(&self, log_lambda: f64, s: &Solution) -> f64 {
        let phi = (s.rss + s.size) / (self.n - 1.0);
        let factor = s.factor.l_dirty();
        let log_det: f64 = (0..factor.nrows()).map(|i| 2.0 * factor[(i, i)].ln()).sum();
        0.5 * (self.n - 1.0) * (1.0 + (std::f64::consts::TAU * phi).ln()) + 0.5 * log_det
            - 0.5 * (self.rank * log_lambda + self.log_det)
    }

    /// The minimum by bisection on the gradient; a gradient of one sign throughout ends at the
    /// end of the range, a flat line or an interpolating curve.
    fn reml(&self) -> Result<f64, FitError> {
        let (mut low, mut high) = (-25.0, 25.0);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if self.gradient(middle)? > 0.0 {
                high = middle
            } else {
                low = middle
            }
        }
        Ok(0.5 * (low + high))
    }
}

/// Fits `response` at `positions` on the basis' circle.
pub fn fit(
    basis: &impl CyclicBasis,
    positions: &[f64],
    response: &[f64],
    smoothness: Smoothness,
) -> Result<GaussianCurve, FitError> {
    let places = Positions::new(positions);
    let centred = centring(basis, &places);
    let table = centred.rows(basis, &places.distinct);
    let x = DMatrix::from_fn(positions.len(), table.ncols(), |i, j| {
        table[(places.index[i], j)]
    });
    let y = DVector::from_row_slice(response);
    let penalty = centred.penalty(basis);
    let rank = penalty.nrows() - 1;
    let inner = penalty.view((1, 1), (rank, rank)).into_owned();
    let problem = Problem {
        gram: x.transpose() * &x,
        right: x.transpose() * &y,
        squares: y.norm_squared(),
        n: y.len() as f64,
        rank: rank as f64,
        log_det: SymmetricEigen::new(inner)
            .eigenvalues
            .iter()
            .map(|v| v.ln())
            .sum(),
        penalty,
    };
    let log_lambda = match smoothness {
        Smoothness::Reml => problem.reml()?,
        Smoothness::Fixed(lambda) => lambda.ln(),
    };
    let s = problem.solve(log_lambda)?;
    let inverse = s.factor.inverse();
    let edf = (&inverse * &problem.gram).trace();
    // residuals from the rows themselves: the expanded form above cancels
    let rss = (&y - &x * &s.beta).norm_squared();
    let scale = rss / (problem.n - edf);
    let reml = problem.criterion(log_lambda, &s);
    Ok(GaussianCurve {
        lambda: log_lambda.exp(),
        edf,
        scale,
        rss,
        reml,
        centred,
        beta: s.beta,
        covariance: inverse * scale,
    })
}

impl GaussianCurve {
    /// The curve with its uncertainty at positions on the circle.
    pub fn at(&self, basis: &impl CyclicBasis, positions: &[f64]) -> Posterior {
        let rows = self.centred.rows(basis, positions);
        Posterior::new(rows, self.beta.clone(), self.covariance.clone())
    }
}
