//! The two cyclic bases under one type.

use super::case::Trouble;
use forecast::year_curve::basis::{BSpline, CubicSpline, CyclicBasis};
use nalgebra::{DMatrix, DVector};

/// Either basis on [0, 1].
pub enum Basis {
    /// Cyclic cubic regression spline.
    Cubic(CubicSpline),
    /// Cyclic P-spline.
    Wrapped(BSpline),
}

impl Basis {
    /// "cc" with k knots, both ends counted, or "cp" with k segments.
    pub fn new(kind: &str, k: usize) -> Result<Self, Trouble> {
        let knots: Vec<f64> = (0..k).map(|i| i as f64 / (k - 1) as f64).collect();
        Ok(match kind {
            "cc" => Basis::Cubic(CubicSpline::new(&knots)?),
            "cp" => Basis::Wrapped(BSpline::new(k)?),
            _ => return Err(Trouble::Failed(format!("unknown basis {kind}"))),
        })
    }

    /// Positions at which the basis determines its coefficients.
    pub fn nodes(&self) -> Vec<f64> {
        (0..self.len())
            .map(|i| i as f64 / self.len() as f64)
            .collect()
    }

    /// Coefficients of the curve with these values at the nodes.
    pub fn coefficients(&self, values: &[f64]) -> Result<Vec<f64>, Trouble> {
        let rows: Vec<f64> = self.nodes().iter().flat_map(|x| self.row(*x)).collect();
        let matrix = DMatrix::from_row_slice(self.len(), self.len(), &rows);
        let found = matrix.lu().solve(&DVector::from_row_slice(values));
        Ok(found
            .ok_or("the nodes do not determine the curve")?
            .as_slice()
            .to_vec())
    }

    fn inner(&self) -> &dyn CyclicBasis {
        match self {
            Basis::Cubic(basis) => basis,
            Basis::Wrapped(basis) => basis,
        }
    }
}

impl CyclicBasis for Basis {
    fn len(&self) -> usize {
        self.inner().len()
    }
    fn row(&self, x: f64) -> Vec<f64> {
        self.inner().row(x)
    }
    fn penalty(&self) -> DMatrix<f64> {
        self.inner().penalty()
    }
}
