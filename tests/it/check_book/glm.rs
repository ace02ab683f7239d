//! Topic 04, its first part: negative binomial and Poisson regression.

use super::case::{Case, Found, Trouble};
use super::formula::Formula;
use super::joint;
use super::model_matrix::ModelMatrix;
use super::table::Table;
use forecast::negative_binomial::Dispersion;
use forecast::regression::{CountData, Regression, Scatter};
use forecast::series::Count;
use forecast::year_curve::likelihood::full_row;
use nalgebra::DVector;
use serde_json::{Map, Value, json};

pub fn regression(case: &Case) -> Found {
    let table = case.table()?;
    if case.expected.get("se_coef_joint").is_some() {
        return joint::errors(case, &table);
    }
    let scatter = match case.text("variance")? {
        "mu" => Scatter::Known(Dispersion::Poisson),
        "mu+mu^2/theta" => Scatter::Estimated,
        other => return Err(Trouble::Failed(format!("unknown variance {other}"))),
    };
    let formula = Formula::read(case.text("model")?)?;
    let matrix = ModelMatrix::new(&formula, &table)?;
    let fit = fit(&matrix, &table, &formula.response, scatter)?;
    let mut found = report(&matrix.names, &fit);
    if let Some(error) = fit.theta_standard_error {
        let counts = table.numbers(&formula.response)?;
        let lag = mass_lag(&means(&matrix, &fit), &counts, &fit);
        found["se:theta"] = json!(error * lag);
    }
    Ok(found)
}

pub fn fit(
    matrix: &ModelMatrix,
    table: &Table,
    response: &str,
    scatter: Scatter,
) -> Result<Regression, Trouble> {
    let counts = table.numbers(response)?.into_iter().map(|y| y as u32);
    let (columns, offset) = (matrix.columns.clone(), matrix.offset.clone());
    Ok(CountData::new(columns, offset, counts.collect())?.fit(scatter)?)
}

fn means(matrix: &ModelMatrix, fit: &Regression) -> Vec<f64> {
    let eta = &matrix.columns * DVector::from_row_slice(&fit.coefficients);
    let rows = eta.iter().zip(&matrix.offset);
    rows.map(|(e, o)| (e + o).exp()).collect()
}

/// MASS::theta.ml reports theta's standard error from one Newton step before its last, so that
/// it is out by up to about that step (at most 1.2e-4). This is by how much: its error over the
/// one at the optimum, following its steps from its start.
fn mass_lag(mu: &[f64], counts: &[f64], fit: &Regression) -> f64 {
    let slope_and_information = |theta: f64| {
        let size = Dispersion::Theta(theta);
        let rows = mu.iter().zip(counts).map(|(m, y)| {
            let row = full_row(Count::Exactly(*y as u32), m.ln(), size).unwrap_or_default();
            let rising = size.ln_rising_by_tau(*y as u32);
            (row.by_tau + rising.0, row.by_tau_tau + rising.1)
        });
        let (by, twice) = rows.fold((0.0, 0.0), |a, r| (a.0 + r.0, a.1 + r.1));
        (by / theta, (by - twice) / (theta * theta))
    };
    let scatter = mu.iter().zip(counts).map(|(m, y)| (y / m - 1.0).powi(2));
    let mut theta = counts.len() as f64 / scatter.sum::<f64>();
    let (mut before, mut step) = (theta, f64::INFINITY);
    while step.abs() > f64::EPSILON.powf(0.25) {
        before = theta.abs();
        let (slope, information) = slope_and_information(before);
        step = slope / information;
        theta = before + step;
    }
    let optimum = fit.dispersion.theta().unwrap_or(theta);
    (slope_and_information(optimum).1 / slope_and_information(before).1).sqrt()
}

fn report(names: &[String], fit: &Regression) -> Value {
    let mut found = Map::new();
    for (i, name) in names.iter().enumerate() {
        found.insert(format!("coef:{name}"), json!(fit.coefficients[i]));
        found.insert(format!("se:{name}"), json!(fit.standard_errors[i]));
    }
    let theta = fit
        .dispersion
        .theta()
        .map_or(json!("Poisson limit"), |t| json!(t));
    let others = [
        ("theta", theta),
        ("se:theta", json!(fit.theta_standard_error)),
        ("loglik", json!(fit.log_likelihood)),
        ("aic", json!(fit.aic())),
        ("deviance", json!(fit.deviance)),
        ("null_deviance", json!(fit.null_deviance)),
        ("df_residual", json!(fit.residual_df as f64)),
    ];
    found.extend(others.map(|(name, value)| (name.to_owned(), value)));
    Value::Object(found)
}
