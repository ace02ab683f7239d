//! The year curve: expected count on a standard visit by day of the year.
//!
//! A cyclic penalised cubic spline of the day of the year, negative binomial with log link,
//! offset log(effort / standard effort), a random effect a year, smoothing by Laplace REML.
//! It describes; it does not forecast a particular season.

pub mod basis;
pub mod design;
pub mod gaussian;
mod interval;
pub mod likelihood;
pub mod newton;
pub mod penalty;
pub mod posterior;
pub mod reml;
pub mod search;
pub mod smooth;

use crate::calendar::{DAYS, DayOfYear};
use crate::negative_binomial::Dispersion;
use crate::series::{Count, CountSeries};
use basis::{BasisError, CubicSpline, place_knots};
use design::{DesignError, Observation};
use newton::{FitError, Hessian};
use posterior::Posterior;
use reml::{Evaluation, Hyper, Model};
use search::{Free, search};
use serde::{Deserialize, Serialize};
use smooth::{Centred, Positions, centring, model};

/// Raw settings of a year curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Params {
    /// Knots of the cyclic spline.
    pub knots: usize,
}

impl Default for Params {
    fn default() -> Self {
        // 20 knots resolve passages of about three weeks; the penalty smooths what they needn't
        Params { knots: 20 }
    }
}

/// Settings that make no curve.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("a year curve takes 4 to 60 knots, not {0}")]
pub struct BadKnots(pub usize);

/// Checked settings.
#[derive(Debug, Clone, PartialEq)]
pub struct ValidParams {
    knots: usize,
}

impl Params {
    /// Checks the settings.
    pub fn check(self) -> Result<ValidParams, BadKnots> {
        if (4..=60).contains(&self.knots) {
            Ok(ValidParams { knots: self.knots })
        } else {
            Err(BadKnots(self.knots))
        }
    }
}

/// Why there is no curve.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum YearCurveError {
    /// The visits fall on too few different days.
    #[error(transparent)]
    Basis(#[from] BasisError),
    /// The numbers do not fit together.
    #[error(transparent)]
    Design(#[from] DesignError),
    /// The fit failed.
    #[error(transparent)]
    Fit(#[from] FitError),
}

/// A fitted year curve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct YearCurve {
    /// Scatter of counts about the curve.
    pub dispersion: Dispersion,
    /// Effective degrees of freedom of the seasonal part (expected weights, as mgcv reports them).
    pub edf: f64,
    /// Smoothing parameter; the year is scaled to length 1.
    pub lambda: f64,
    /// Standard deviation of the years' effects on the log scale.
    pub year_effect_sd: f64,
    /// Effect of each year seen, on the log scale.
    pub year_effects: Vec<(i32, f64)>,
    /// Log expected count on a standard visit, 366 days, year effect 0.
    pub log_mean: Vec<f64>,
    /// Standard error of `log_mean`, smoothing parameters taken as known.
    pub standard_error: Vec<f64>,
    /// By day: where visits about it found none, the expected count that they leave room for.
    #[serde(default)]
    none_found: Vec<Option<f64>>,
}

/// Below this many effective degrees of freedom there is no season to speak of.
pub const NO_SEASON_EDF: f64 = 0.05;

impl YearCurve {
    /// Did the smoothing run to a flat line?
    pub fn is_flat(&self) -> bool {
        self.edf < NO_SEASON_EDF
    }

    /// Expected count on a standard visit on the day, average year.
    pub fn mean(&self, day: DayOfYear) -> f64 {
        self.log_mean[day.index()].exp()
    }
}

/// A curve with the distribution of its coefficients.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// What is kept.
    pub curve: YearCurve,
    /// For intervals of dates read off the curve.
    pub posterior: Posterior,
}

/// Position of a day on the circle of length 1; the year starts half a day before 1 January.
fn phase(day: DayOfYear) -> f64 {
    (f64::from(day.get()) - 0.5) / DAYS as f64
}

/// Fits the year curve of one species at one site.
///
/// Visits of unknown count are left out; "at least" and "present" enter as the probability of
/// that many or more, "about" as its number.
pub fn fit(series: &CountSeries, params: &ValidParams) -> Result<Fitted, YearCurveError> {
    let known: Vec<_> = series.known().collect();
    let phases: Vec<f64> = known.iter().map(|(v, _)| phase(v.day())).collect();
    let positions = Positions::new(&phases);
    let knots = place_knots(&positions.distinct, (0.0, 1.0), params.knots)?;
    let basis = CubicSpline::new(&knots)?;
    let centred = centring(&basis, &positions);
    let mut years: Vec<i32> = known.iter().map(|(v, _)| v.year()).collect();
    years.dedup();
    let rows: Vec<Observation> = known
        .iter()
        .zip(&positions.index)
        .map(|((v, count), row)| Observation {
            row: *row,
            group: years.partition_point(|y| *y < v.year()),
            offset: v.log_effort_ratio,
            count: *count,
        })
        .collect();
    // a single year's effect cannot be told from the intercept
    let groups = if years.len() > 1 { years.len() } else { 0 };
    let mut model = model(&basis, &centred, &positions, groups, &rows)?;
    model.priors.log_theta = scatter_belief(&rows);
    let found = best(&model)?;
    let mut fitted = finish(&model, &found, &years, &basis, &centred)?;
    fitted.curve.none_found = interval::none_found(series, fitted.curve.dispersion);
    Ok(fitted)
}

/// Where most finds are without a number, their scatter can't be told from their mean, and theta
/// would run off to zero: then what is believed of counts of birds stands in, as in a passage's
/// curve. None where the numbers speak for themselves.
fn scatter_belief(rows: &[Observation]) -> Option<(f64, f64)> {
    let numbered = |o: &&Observation| match o.count {
        Count::Exactly(n) | Count::About(n) => n > 0,
        Count::AtLeast(n) => n > 1,
        Count::Present | Count::Unknown => false,
    };
    let found = rows.iter().filter(|o| o.count.found() == Some(true));
    let (found, numbered) = (found.count(), rows.iter().filter(numbered).count());
    (2 * numbered < found).then_some((0.5f64.ln(), 1.0))
}

/// Searches from where the penalty and the counts weigh alike; where that ends in a flat line,
/// once more from a lively curve, so that "no season" is never an accident of the start.
fn best(model: &Model) -> Result<Evaluation, FitError> {
    let free = Free {
        lambda: true,
        precision: true,
        theta: true,
    };
    let start = Hyper {
        log_lambda: balance(model),
        log_precision: 4f64.ln(),
        log_theta: Some(0.0),
    };
    let found = search(model, start, free)?;
    let lively = Hyper {
        log_lambda: start.log_lambda - 7.0,
        ..found.hyper
    };
    if found.hyper.log_lambda < start.log_lambda + 8.0 {
        return Ok(found);
    }
    match search(model, lively, free) {
        Ok(other) if other.value < found.value => Ok(other),
        _ => Ok(found),
    }
}

/// log lambda at which penalty and information have the same mean diagonal, at a mean of one
/// bird in two visits' weight.
fn balance(model: &Model) -> f64 {
    let design = &model.design;
    let birds: f64 = design.counts().iter().map(|c| f64::from(c.birds())).sum();
    let mean = birds / design.len().max(1) as f64;
    let info = design.information(&vec![mean / (1.0 + mean); design.len()]);
    let ratio = (1..design.width())
        .map(|i| info.square[(i, i)])
        .sum::<f64>()
        / model.penalty.trace();
    ratio.max(1e-12).ln()
}

fn finish(
    model: &Model,
    found: &Evaluation,
    years: &[i32],
    basis: &CubicSpline,
    centred: &Centred,
) -> Result<Fitted, FitError> {
    let smoothing = model.smoothing(found.hyper);
    let fit = &found.coefficients;
    let expected = expected_weights(model, found);
    let info = model.design.information(&expected);
    let inverse = Hessian::new(info.clone(), &smoothing)?.inverse();
    let influence = &inverse.square * &info.square + &inverse.cross * info.cross.transpose();
    let phases: Vec<f64> = (1..=DAYS).map(|d| (d as f64 - 0.5) / DAYS as f64).collect();
    let posterior = Posterior::new(
        centred.rows(basis, &phases),
        fit.beta.clone(),
        inverse.square,
    );
    let groups = model.design.groups();
    let curve = YearCurve {
        dispersion: found.hyper.dispersion(),
        edf: (1..model.design.width()).map(|i| influence[(i, i)]).sum(),
        lambda: found.hyper.log_lambda.exp(),
        year_effect_sd: if groups > 0 {
            (-0.5 * found.hyper.log_precision).exp()
        } else {
            0.0
        },
        year_effects: years
            .iter()
            .copied()
            .zip(fit.groups.iter().copied())
            .collect(),
        log_mean: posterior.mean().to_vec(),
        standard_error: posterior.standard_error(),
        none_found: Vec::new(),
    };
    Ok(Fitted { curve, posterior })
}

/// mgcv reports degrees of freedom and standard errors with expected weights, while its
/// smoothing criterion uses observed ones; uncertain counts have only the latter.
fn expected_weights(model: &Model, found: &Evaluation) -> Vec<f64> {
    let dispersion = found.hyper.dispersion();
    let fit = &found.coefficients;
    let eta = model.design.predictor(&fit.beta, &fit.groups);
    let weight = |(count, e): (&Count, &f64)| match count {
        Count::Exactly(_) | Count::About(_) => {
            let mu = e.exp();
            dispersion.theta().map_or(mu, |t| mu * t / (mu + t))
        }
        _ => likelihood::step_row(*count, *e, dispersion).map_or(0.0, |r| r.2),
    };
    model.design.counts().iter().zip(&eta).map(weight).collect()
}
