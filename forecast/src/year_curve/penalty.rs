//! What holds a curve back: the penalty on its coefficients, and beliefs about the smoothing
//! parameters.

use nalgebra::{DMatrix, SymmetricEigen};

/// lambda times a matrix, plus a fixed ridge that holds coefficients no count ties down.
#[derive(Debug, Clone)]
pub struct Penalty {
    pub(super) matrix: DMatrix<f64>,
    /// Non-zero eigenvalues; zero ones count only with a ridge.
    eigenvalues: Vec<f64>,
    nullity: usize,
    pub(super) ridge: f64,
}

impl Penalty {
    /// `nullity` is the number of coefficients that the matrix leaves free, the smallest
    /// eigenvalues of it.
    pub fn new(matrix: DMatrix<f64>, nullity: usize, ridge: f64) -> Self {
        let mut values: Vec<f64> = SymmetricEigen::new(matrix.clone())
            .eigenvalues
            .iter()
            .copied()
            .collect();
        values.sort_by(f64::total_cmp);
        Penalty {
            matrix,
            eigenvalues: values.split_off(nullity),
            nullity,
            ridge,
        }
    }

    /// Nothing is penalised.
    pub fn none(columns: usize) -> Self {
        Penalty {
            matrix: DMatrix::zeros(columns, columns),
            eigenvalues: Vec::new(),
            nullity: columns,
            ridge: 0.0,
        }
    }

    /// Coefficients that lambda acts on.
    pub fn rank(&self) -> usize {
        self.eigenvalues.len()
    }

    /// Sum of the diagonal.
    pub fn trace(&self) -> f64 {
        self.matrix.trace()
    }

    /// Logarithm of the penalty's (pseudo-)determinant and its derivative by log lambda.
    pub(super) fn log_determinant(&self, lambda: f64) -> (f64, f64) {
        let start = if self.ridge > 0.0 {
            self.nullity as f64 * self.ridge.ln()
        } else {
            0.0
        };
        self.eigenvalues
            .iter()
            .fold((start, 0.0), |(sum, slope), e| {
                let value = lambda * e + self.ridge;
                (sum + value.ln(), slope + lambda * e / value)
            })
    }

    /// Coefficients without any penalty.
    pub(super) fn free(&self) -> usize {
        if self.ridge > 0.0 { 0 } else { self.nullity }
    }
}

/// Normal beliefs, as (mean, standard deviation), None for none; and the range of lambda.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priors {
    /// Of log theta.
    pub log_theta: Option<(f64, f64)>,
    /// Of the log precision of the groups.
    pub log_precision: Option<(f64, f64)>,
    /// Least and greatest log lambda that are tried; an end of it is a result.
    pub log_lambda_range: (f64, f64),
    /// A step that promises less of the criterion than this ends the search; rounding sets a
    /// floor to it.
    pub least_gain: f64,
}

impl Default for Priors {
    fn default() -> Self {
        Priors {
            log_theta: None,
            log_precision: None,
            log_lambda_range: (-60.0, 60.0),
            least_gain: 0.0,
        }
    }
}

/// Minus log density without constants, its slope and its bend.
pub(super) fn belief(prior: Option<(f64, f64)>, at: f64) -> (f64, f64, f64) {
    prior.map_or((0.0, 0.0, 0.0), |(mean, sd)| {
        let z = (at - mean) / sd;
        (0.5 * z * z, z / sd, 1.0 / (sd * sd))
    })
}
