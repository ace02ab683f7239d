//! Curves fitted as topics 05, 05b and 15 describe: any table, basis, family and smoothing.

use super::case::Trouble;
use super::either_basis::Basis;
use forecast::negative_binomial::Dispersion;
use forecast::series::Count;
use forecast::year_curve::design::Observation;
use forecast::year_curve::gaussian::{self, GaussianCurve, Smoothness};
use forecast::year_curve::newton::Hessian;
use forecast::year_curve::posterior::Posterior;
use forecast::year_curve::reml::{Evaluation, Hyper, Model};
use forecast::year_curve::search::{Free, search};
use forecast::year_curve::smooth::{Centred, Positions, centring, model};
use nalgebra::DMatrix;

/// A curve to fit.
pub struct Wanted {
    pub basis: Basis,
    pub x: Vec<f64>,
    pub y: Vec<f64>,
    pub offset: Vec<f64>,
    /// Year of each row, where years have effects.
    pub years: Option<Vec<i32>>,
    pub scatter: Family,
    /// lambda where it is given.
    pub lambda: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Family {
    Gaussian,
    Poisson,
    NegativeBinomial { theta: Option<f64> },
}

/// A curve fitted to counts.
pub struct CountCurve {
    pub model: Model,
    pub found: Evaluation,
    pub centred: Centred,
    pub years: Vec<i32>,
}

impl Wanted {
    pub fn gaussian(&self) -> Result<GaussianCurve, Trouble> {
        let y: Vec<f64> = self
            .y
            .iter()
            .zip(&self.offset)
            .map(|(y, o)| y - o)
            .collect();
        let smoothness = self.lambda.map_or(Smoothness::Reml, Smoothness::Fixed);
        Ok(gaussian::fit(&self.basis, &self.x, &y, smoothness)?)
    }

    pub fn counts(&self) -> Result<CountCurve, Trouble> {
        self.counts_with(self.scatter)
    }

    /// The same with another scatter.
    pub fn counts_with(&self, scatter: Family) -> Result<CountCurve, Trouble> {
        let positions = Positions::new(&self.x);
        let centred = centring(&self.basis, &positions);
        let mut years = self.years.clone().unwrap_or_default();
        years.sort();
        years.dedup();
        let row = |i: usize| Observation {
            row: positions.index[i],
            group: self
                .years
                .as_ref()
                .map_or(0, |y| years.partition_point(|b| *b < y[i])),
            offset: self.offset[i],
            count: Count::Exactly(self.y[i] as u32),
        };
        let rows: Vec<Observation> = (0..self.y.len()).map(row).collect();
        let model = model(&self.basis, &centred, &positions, years.len(), &rows)?;
        let found = self.optimum(&model, scatter)?;
        Ok(CountCurve {
            model,
            found,
            centred,
            years,
        })
    }

    /// The better of two searches, from a smooth and from a lively start.
    fn optimum(&self, model: &Model, scatter: Family) -> Result<Evaluation, Trouble> {
        let (theta, free_theta) = match scatter {
            Family::NegativeBinomial { theta } => {
                (Some(theta.unwrap_or(1.0).ln()), theta.is_none())
            }
            _ => (None, false),
        };
        let free = Free {
            lambda: self.lambda.is_none(),
            precision: true,
            theta: free_theta,
        };
        let weights = model.design.information(&vec![1.0; model.design.len()]);
        let balance = (weights.square.trace() / model.penalty.trace()).ln();
        let starts = match self.lambda {
            Some(lambda) => vec![lambda.ln()],
            None => vec![balance, balance - 7.0],
        };
        let searched = starts.into_iter().map(|log_lambda| {
            search(
                model,
                Hyper {
                    log_lambda,
                    log_precision: 0.0,
                    log_theta: theta,
                },
                free,
            )
        });
        let mut found: Vec<Evaluation> = searched.collect::<Result<_, _>>()?;
        found.sort_by(|a, b| a.value.total_cmp(&b.value));
        Ok(found.swap_remove(0))
    }
}

/// Degrees of freedom and covariance with one kind of weights.
pub struct Information {
    pub edf_smooth: f64,
    pub edf_years: f64,
    pub edf_total: f64,
    pub covariance: DMatrix<f64>,
}

impl CountCurve {
    pub fn dispersion(&self) -> Dispersion {
        self.found.hyper.dispersion()
    }

    /// Means of the rows.
    pub fn means(&self) -> Vec<f64> {
        let c = &self.found.coefficients;
        let eta = self.model.design.predictor(&c.beta, &c.groups);
        eta.into_iter().map(f64::exp).collect()
    }

    pub fn expected_weights(&self) -> Vec<f64> {
        let weight = |mu: f64| self.dispersion().theta().map_or(mu, |t| mu * t / (mu + t));
        self.means().into_iter().map(weight).collect()
    }

    pub fn observed_weights(&self, y: &[f64]) -> Vec<f64> {
        let weight = |(mu, y): (f64, &f64)| match self.dispersion() {
            Dispersion::Poisson => mu,
            Dispersion::Theta(t) => (y + t) * mu * t / (mu + t).powi(2),
        };
        self.means().into_iter().zip(y).map(weight).collect()
    }

    pub fn information(&self, weights: &[f64]) -> Result<Information, Trouble> {
        let info = self.model.design.information(weights);
        let smoothing = self.model.smoothing(self.found.hyper);
        let inverse = Hessian::new(info.clone(), &smoothing)?.inverse();
        let own = &inverse.square * &info.square + &inverse.cross * info.cross.transpose();
        let across = inverse.cross.transpose() * &info.cross;
        let block = inverse.group_block.diagonal().component_mul(&info.diagonal);
        let edf_years = across.trace() + block.sum();
        Ok(Information {
            edf_smooth: own.trace() - own[(0, 0)],
            edf_years,
            edf_total: own.trace() + edf_years,
            covariance: inverse.square,
        })
    }

    /// The curve at positions, year effects zero.
    pub fn at(&self, basis: &Basis, x: &[f64], covariance: &DMatrix<f64>) -> Posterior {
        let beta = self.found.coefficients.beta.clone();
        Posterior::new(self.centred.rows(basis, x), beta, covariance.clone())
    }
}
