//! Cyclic spline bases and their penalties.
//!
//! `CubicSpline` is the cyclic cubic regression spline (Wood 2017, Generalized Additive Models,
//! 2nd ed., section 5.3.2): its parameters are the curve's values at the knots.
//! `BSpline` is the cyclic P-spline (Eilers & Marx 1996): wrapped cubic B-splines with a
//! second-order difference penalty.

use nalgebra::DMatrix;

/// Knots that make no cyclic basis.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BasisError {
    /// At least four knots are needed.
    #[error("a cyclic spline needs at least 4 knots, not {0}")]
    TooFewKnots(usize),
    /// Knots must increase.
    #[error("knot {0} does not lie above the one before it")]
    NotIncreasing(f64),
    /// The placement rule needs as many distinct positions as knots.
    #[error("{knots} knots cannot be placed over {positions} distinct positions")]
    TooFewPositions {
        /// knots asked for
        knots: usize,
        /// distinct positions, the ends included
        positions: usize,
    },
}

/// A basis over one period.
pub trait CyclicBasis {
    /// Number of coefficients.
    fn len(&self) -> usize;
    /// No coefficients at all; never so for a checked basis.
    fn is_empty(&self) -> bool {
        self.len() == 0
    }
    /// Values of the basis functions at `x`; positions outside the period go round.
    fn row(&self, x: f64) -> Vec<f64>;
    /// Penalty matrix, `len` by `len`; its null space is the constants.
    fn penalty(&self) -> DMatrix<f64>;
}

/// Cyclic cubic regression spline on knots x_1 < ... < x_k, the first and last identified.
#[derive(Debug, Clone)]
pub struct CubicSpline {
    knots: Vec<f64>,
    /// B^-1 D: maps values at the knots to second derivatives there.
    curvature: DMatrix<f64>,
    penalty: DMatrix<f64>,
}

impl CubicSpline {
    /// Builds the basis: `k` knots give `k - 1` coefficients.
    pub fn new(knots: &[f64]) -> Result<Self, BasisError> {
        if knots.len() < 4 {
            return Err(BasisError::TooFewKnots(knots.len()));
        }
        if let Some(pair) = knots.windows(2).find(|p| p[1] <= p[0] || p[1].is_nan()) {
            return Err(BasisError::NotIncreasing(pair[1]));
        }
        let (b, d) = band_matrices(knots);
        let curvature = b
            .lu()
            .solve(&d)
            .ok_or(BasisError::NotIncreasing(knots[0]))?;
        let s = d.transpose() * &curvature;
        let penalty = (&s + s.transpose()) * 0.5;
        Ok(CubicSpline {
            knots: knots.to_vec(),
            curvature,
            penalty,
        })
    }
}

/// The matrices B and D of Wood 2017, section 5.3.2, in their cyclic form.
fn band_matrices(knots: &[f64]) -> (DMatrix<f64>, DMatrix<f64>) {
    let n = knots.len() - 1;
    let h: Vec<f64> = knots.windows(2).map(|p| p[1] - p[0]).collect();
    let (mut b, mut d) = (DMatrix::zeros(n, n), DMatrix::zeros(n, n));
    for i in 0..n {
        let before = (i + n - 1) % n;
        let after = (i + 1) % n;
        b[(i, i)] = (h[before] + h[i]) / 3.0;
        d[(i, i)] = -1.0 / h[before] - 1.0 / h[i];
        b[(i, before)] += h[before] / 6.0;
        b[(i, after)] += h[i] / 6.0;
        d[(i, before)] += 1.0 / h[before];
        d[(i, after)] += 1.0 / h[i];
    }
    (b, d)
}

impl CyclicBasis for CubicSpline {
    fn len(&self) -> usize {
        self.knots.len() - 1
    }

    fn row(&self, x: f64) -> Vec<f64> {
        let n = self.len();
        let (first, last) = (self.knots[0], self.knots[n]);
        // the last knot itself is the first one, so that the period is closed on the left
        let x = first + (x - first).rem_euclid(last - first);
        let j = self.knots.partition_point(|k| *k <= x).clamp(1, n) - 1;
        let h = self.knots[j + 1] - self.knots[j];
        let (left, right) = (x - self.knots[j], self.knots[j + 1] - x);
        let next = (j + 1) % n;
        let curve_here = (right.powi(3) / h - h * right) / 6.0;
        let curve_next = (left.powi(3) / h - h * left) / 6.0;
        let mut row: Vec<f64> = (0..n)
            .map(|c| curve_here * self.curvature[(j, c)] + curve_next * self.curvature[(next, c)])
            .collect();
        row[j] += right / h;
        row[next] += left / h;
        row
    }

    fn penalty(&self) -> DMatrix<f64> {
        self.penalty.clone()
    }
}

/// Wrapped cubic B-splines on `segments` equal segments of [0, 1].
#[derive(Debug, Clone)]
pub struct BSpline {
    segments: usize,
}

impl BSpline {
    /// `segments` coefficients.
    pub fn new(segments: usize) -> Result<Self, BasisError> {
        if segments < 4 {
            return Err(BasisError::TooFewKnots(segments));
        }
        Ok(BSpline { segments })
    }
}

impl CyclicBasis for BSpline {
    fn len(&self) -> usize {
        self.segments
    }

    fn row(&self, x: f64) -> Vec<f64> {
        let k = self.segments;
        let at = x.rem_euclid(1.0) * k as f64;
        let segment = (at.floor() as usize).min(k - 1);
        let mut row = vec![0.0; k];
        for (i, value) in cubic_pieces(at - segment as f64).into_iter().enumerate() {
            row[(segment + i) % k] += value;
        }
        row
    }

    fn penalty(&self) -> DMatrix<f64> {
        let k = self.segments;
        let mut d: DMatrix<f64> = DMatrix::zeros(k, k);
        for i in 0..k {
            d[(i, i)] += 1.0;
            d[(i, (i + 1) % k)] -= 2.0;
            d[(i, (i + 2) % k)] += 1.0;
        }
        d.transpose() * d
    }
}

/// The four uniform cubic B-splines that overlap a segment, at `u` in [0, 1) of it
/// (de Boor 1978, A Practical Guide to Splines).
pub fn cubic_pieces(u: f64) -> [f64; 4] {
    let v = 1.0 - u;
    [
        v.powi(3) / 6.0,
        (3.0 * u.powi(3) - 6.0 * u.powi(2) + 4.0) / 6.0,
        (3.0 * v.powi(3) - 6.0 * v.powi(2) + 4.0) / 6.0,
        u.powi(3) / 6.0,
    ]
}

/// Knots at even ranks of the distinct positions, both ends of the period included: the rule of
/// R's mgcv for a cyclic spline whose end knots are given (function `place.knots`).
pub fn place_knots(
    positions: &[f64],
    ends: (f64, f64),
    knots: usize,
) -> Result<Vec<f64>, BasisError> {
    if knots < 4 {
        return Err(BasisError::TooFewKnots(knots));
    }
    let mut x: Vec<f64> = positions.iter().copied().chain([ends.0, ends.1]).collect();
    x.sort_by(f64::total_cmp);
    x.dedup();
    if x.len() < knots {
        return Err(BasisError::TooFewPositions {
            knots,
            positions: x.len(),
        });
    }
    let spacing = (x.len() - 1) as f64 / (knots - 1) as f64;
    let inner = (1..knots - 1).map(|i| {
        let rank = spacing * i as f64;
        let below = rank.floor() as usize;
        let part = rank - below as f64;
        x[below] * (1.0 - part) + x[below + 1] * part
    });
    Ok([x[0]]
        .into_iter()
        .chain(inner)
        .chain([x[x.len() - 1]])
        .collect())
}
