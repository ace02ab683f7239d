//! A cyclic curve with its intercept as a penalised regression: the curve sums to zero over the
//! observations, so that intercept and curve do not trade places.

use super::basis::CyclicBasis;
use super::design::{Design, DesignError, Observation};
use super::reml::{Model, Penalty, Priors};
use nalgebra::{DMatrix, DVector};

/// The centred basis: `[1, row Z]` with Z orthonormal and orthogonal to the column sums.
#[derive(Debug, Clone)]
pub struct Centred {
    /// Columns Z, basis functions by basis functions less one.
    z: DMatrix<f64>,
}

impl Centred {
    /// From the sums of the basis functions over the observations.
    pub fn new(column_sums: &DVector<f64>) -> Self {
        let k = column_sums.len();
        // the last k - 1 columns of the Householder reflection that takes the sums to the first axis
        let norm = column_sums.norm();
        let mut v = column_sums.clone();
        v[0] += norm.copysign(column_sums[0]);
        let scale = 2.0 / v.norm_squared();
        let reflection = DMatrix::identity(k, k) - (&v * v.transpose()) * scale;
        Centred {
            z: reflection.columns(1, k - 1).into_owned(),
        }
    }

    /// The row of the regression at a position: 1 and the centred basis functions.
    pub fn row(&self, basis: &impl CyclicBasis, x: f64) -> Vec<f64> {
        let row = DVector::from_vec(basis.row(x));
        let centred = self.z.transpose() * row;
        std::iter::once(1.0)
            .chain(centred.iter().copied())
            .collect()
    }

    /// Rows at many positions.
    pub fn rows(&self, basis: &impl CyclicBasis, positions: &[f64]) -> DMatrix<f64> {
        let rows: Vec<f64> = positions.iter().flat_map(|x| self.row(basis, *x)).collect();
        DMatrix::from_row_slice(positions.len(), self.z.ncols() + 1, &rows)
    }

    /// The basis' penalty in centred coefficients, with a zero row and column for the intercept.
    pub fn penalty(&self, basis: &impl CyclicBasis) -> DMatrix<f64> {
        let inner = self.z.transpose() * basis.penalty() * &self.z;
        let mut penalty = DMatrix::zeros(inner.nrows() + 1, inner.ncols() + 1);
        penalty.view_mut((1, 1), inner.shape()).copy_from(&inner);
        penalty
    }
}

/// A position on the circle for each observation, as an index into the distinct ones.
#[derive(Debug, Clone)]
pub struct Positions {
    /// Distinct positions.
    pub distinct: Vec<f64>,
    /// Index of each observation.
    pub index: Vec<usize>,
}

impl Positions {
    /// Sorts out the distinct ones.
    pub fn new(x: &[f64]) -> Self {
        let mut distinct = x.to_vec();
        distinct.sort_by(f64::total_cmp);
        distinct.dedup();
        let index = x
            .iter()
            .map(|v| distinct.partition_point(|d| d < v))
            .collect();
        Positions { distinct, index }
    }

    fn column_sums(&self, basis: &impl CyclicBasis) -> DVector<f64> {
        let mut times = vec![0.0; self.distinct.len()];
        self.index.iter().for_each(|i| times[*i] += 1.0);
        let mut sums = DVector::zeros(basis.len());
        for (x, n) in self.distinct.iter().zip(&times) {
            sums += DVector::from_vec(basis.row(*x)) * *n;
        }
        sums
    }
}

/// The centring that a set of positions asks for.
pub fn centring(basis: &impl CyclicBasis, positions: &Positions) -> Centred {
    Centred::new(&positions.column_sums(basis))
}

/// Sets up the count regression; `rows` are in the order of `positions.index`.
pub fn model(
    basis: &impl CyclicBasis,
    centred: &Centred,
    positions: &Positions,
    groups: usize,
    rows: &[Observation],
) -> Result<Model, DesignError> {
    let table = centred.rows(basis, &positions.distinct);
    Ok(Model {
        design: Design::new(&table, groups, rows)?,
        // the intercept alone is free
        penalty: Penalty::new(centred.penalty(basis), 1, 0.0),
        priors: Priors::default(),
    })
}
