//! The distribution of a fitted curve: normal in its coefficients (Wood 2017, section 6.10).

use nalgebra::{Cholesky, DMatrix, DVector};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// Log expected counts by day with their joint uncertainty.
#[derive(Debug, Clone)]
pub struct Posterior {
    /// Days by coefficients.
    rows: DMatrix<f64>,
    covariance: DMatrix<f64>,
    beta: DVector<f64>,
    mean: DVector<f64>,
}

impl Posterior {
    /// `rows` is days by coefficients.
    pub fn new(rows: DMatrix<f64>, beta: DVector<f64>, covariance: DMatrix<f64>) -> Self {
        let mean = &rows * &beta;
        Posterior {
            rows,
            covariance,
            beta,
            mean,
        }
    }

    /// Log expected count, a day each.
    pub fn mean(&self) -> &[f64] {
        self.mean.as_slice()
    }

    /// Standard error of the mean, a day each.
    pub fn standard_error(&self) -> Vec<f64> {
        let half = &self.rows * &self.covariance;
        (0..self.rows.nrows())
            .map(|d| half.row(d).dot(&self.rows.row(d)).max(0.0).sqrt())
            .collect()
    }

    /// Mean and standard deviation of `mean[a] - mean[b]`; days by index.
    pub fn difference(&self, a: usize, b: usize) -> (f64, f64) {
        let contrast = self.rows.row(a) - self.rows.row(b);
        let variance = (&contrast * &self.covariance).dot(&contrast);
        (self.mean[a] - self.mean[b], variance.max(0.0).sqrt())
    }

    /// Standard deviation of a weighted sum of days' log expected counts, one weight a day.
    pub fn sd_of_sum(&self, weights: &[f64]) -> f64 {
        let direction = self.rows.tr_mul(&DVector::from_column_slice(weights));
        (&self.covariance * &direction)
            .dot(&direction)
            .max(0.0)
            .sqrt()
    }

    /// `n` curves drawn from the distribution, each a day's log expected counts; draws come in
    /// mirrored pairs, which halves the noise of means. Empty where the covariance is degenerate.
    pub fn draws(&self, n: usize, seed: u64) -> Vec<Vec<f64>> {
        let Some(factor) = Cholesky::new(self.covariance.clone()) else {
            return Vec::new();
        };
        let spread = &self.rows * factor.l();
        let mut random = Pcg64Mcg::seed_from_u64(seed);
        let mut draws = Vec::with_capacity(n);
        while draws.len() < n {
            let z = DVector::from_fn(self.beta.len(), |_, _| StandardNormal.sample(&mut random));
            let shift = &spread * z;
            draws.push((&self.mean + &shift).as_slice().to_vec());
            draws.push((&self.mean - &shift).as_slice().to_vec());
        }
        draws.truncate(n);
        draws
    }
}
