//! What is not known of the long-term curve, nor of how weeks went up and down together, as far as
//! it moves a season's timing and numbers.
//!
//! Shift and level solve their score equations given the curve's coefficients and the weeks'
//! factors; to first order they move with them by minus the inverse curvature times the cross derivatives (the implicit
//! function theorem), and the covariance of those passes through.

use super::grid::{LEVEL_VARIANCE, Moments, SHIFT_VARIANCE};
use super::weeks::Weeks;
use crate::passage::curve::{PassageCurve, Sighting};
use crate::year_curve::likelihood::step_row;
use nalgebra::{DMatrix, DVector, Matrix2, Vector2};

/// How shift and level hang on the curve's coefficients, which come first, and the weeks' factors.
pub(super) struct Borrowed {
    /// 2 by coefficients and weeks.
    pulls: DMatrix<f64>,
    covariance: DMatrix<f64>,
    both: Matrix2<f64>,
}

impl Borrowed {
    /// At the middle of what the counts say.
    pub(super) fn at(
        curve: &PassageCurve,
        sightings: &[Sighting],
        at: &Moments,
        weeks: &Weeks,
    ) -> Self {
        let coefficients = curve.covariance().nrows();
        let covariance = beside(curve.covariance(), &weeks.covariance());
        let mut cross: DMatrix<f64> = DMatrix::zeros(2, covariance.nrows());
        let mut bend = Matrix2::new(1.0 / SHIFT_VARIANCE, 0.0, 0.0, 1.0 / LEVEL_VARIANCE);
        for s in sightings {
            let position = s.offset as f64 - at.shift;
            let (mean, steep) = curve.log_mean_and_slope(position);
            let eta = mean + at.level + s.log_effort;
            let Some((_, _, weight)) = step_row(s.count, eta, curve.dispersion) else {
                continue;
            };
            let by = Vector2::new(-steep, 1.0);
            bend += weight * by * by.transpose();
            let (first, pieces) = curve.coefficients_at(position);
            for (i, piece) in pieces.iter().enumerate() {
                cross[(0, first + i)] += weight * by[0] * piece;
                cross[(1, first + i)] += weight * by[1] * piece;
            }
            let week = coefficients + weeks.of_day(s.offset);
            cross[(0, week)] += weight * by[0];
            cross[(1, week)] += weight * by[1];
        }
        // positive definite: the beliefs' own curvature stands on its diagonal
        let inverse = bend.try_inverse().unwrap_or_else(Matrix2::zeros);
        let inverse = DMatrix::from_fn(2, 2, |i, j| -inverse[(i, j)]);
        let pulls = inverse * cross;
        let both = &pulls * &covariance * pulls.transpose();
        Borrowed {
            both: Matrix2::new(both[(0, 0)], both[(0, 1)], both[(1, 0)], both[(1, 1)]),
            pulls,
            covariance,
        }
    }

    /// Variance added to the shift, squared days.
    pub(super) fn shift_variance(&self) -> f64 {
        self.both[(0, 0)].max(0.0)
    }

    /// Variance added to the log level.
    pub(super) fn level_variance(&self) -> f64 {
        self.both[(1, 1)].max(0.0)
    }

    /// Covariance added to both, shift first.
    pub(super) fn covariance(&self) -> Matrix2<f64> {
        self.both
    }

    /// Variance of a quantity that hangs on the curve's coefficients by itself, and by `of_shift`
    /// times the shift.
    pub(super) fn variance_of(&self, by_itself: &DVector<f64>, of_shift: f64) -> f64 {
        let mut pull = self.pulls.row(0).transpose() * of_shift;
        let mut own = pull.rows_mut(0, by_itself.len());
        own += by_itself;
        (&self.covariance * &pull).dot(&pull).max(0.0)
    }
}

/// Two covariances of what has nothing to do with each other, as one.
fn beside(a: &DMatrix<f64>, b: &DMatrix<f64>) -> DMatrix<f64> {
    let (n, m) = (a.nrows(), b.nrows());
    let mut both: DMatrix<f64> = DMatrix::zeros(n + m, n + m);
    both.view_mut((0, 0), (n, n)).copy_from(a);
    both.view_mut((n, n), (m, m)).copy_from(b);
    both
}
