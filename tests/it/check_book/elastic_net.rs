//! Topic 10: elastic net, ridge and lasso.

use super::case::{Case, Found, Trouble};
use super::table::Table;
use forecast::temperature::elastic_net::{Fitted, Params, Rows, fit, largest_penalty};
use nalgebra::DMatrix;
use serde_json::{Map, Value, json};

/// The table's response is its `target`; all other columns are regressors.
struct Data {
    names: Vec<String>,
    rows: Rows,
}

impl Data {
    fn read(case: &Case) -> Result<Self, Trouble> {
        let table = case.table()?;
        let names: Vec<String> = regressors(case, &table)?;
        let columns: Result<Vec<Vec<f64>>, String> =
            names.iter().map(|n| table.numbers(n)).collect();
        let x = DMatrix::from_vec(table.len(), names.len(), columns?.concat());
        let rows = Rows::new(x, table.numbers("target")?, vec![1.0; table.len()])?;
        Ok(Data { names, rows })
    }

    fn residual_squares(&self, fitted: &Fitted) -> f64 {
        let y = self.rows.y().iter().zip(self.rows.x().row_iter());
        y.map(|(y, x)| (y - fitted.at(x.iter())).powi(2)).sum()
    }

    fn describe(&self, fitted: &Fitted) -> Map<String, Value> {
        let coefficients = self
            .names
            .iter()
            .cloned()
            .zip(fitted.coefficients.iter().copied());
        let n = self.rows.len() as f64;
        let mean = self.rows.y().iter().sum::<f64>() / n;
        let about: f64 = self.rows.y().iter().map(|y| (y - mean).powi(2)).sum();
        let found = json!({
            "coef": coefficients.collect::<Vec<_>>().into_iter().collect::<std::collections::BTreeMap<_, _>>(),
            "intercept": fitted.intercept,
            "nonzero": fitted.coefficients.iter().filter(|b| **b != 0.0).count(),
            "r2": 1.0 - self.residual_squares(fitted) / about,
            "edf": fitted.effective_df,
        });
        match found {
            Value::Object(map) => map,
            _ => Map::new(),
        }
    }
}

/// In the table's order, named by the coefficients of the topic's checks.
fn regressors(case: &Case, table: &Table) -> Result<Vec<String>, Trouble> {
    let named = case
        .topic
        .iter()
        .find_map(|c| c["expected"]["coef"].as_object());
    let named = named.ok_or_else(|| Trouble::Failed("no check names the columns".into()))?;
    Ok(named.keys().filter(|n| table.has(n)).cloned().collect())
}

/// Tight: the book's own descent ran to 1e-14.
const TOLERANCE: f64 = 1e-12;

pub fn elastic_net(case: &Case) -> Found {
    let data = Data::read(case)?;
    let (alpha, l1) = (case.number("alpha")?, case.number("l1_ratio")?);
    let standardise = case.inputs["standardize"] == Value::Bool(true);
    let params = Params {
        penalty: alpha,
        l1_ratio: l1,
        standardise,
        tolerance: TOLERANCE,
    };
    let fitted = fit(&data.rows, &params.check()?)?;
    let sum = |of: fn(&f64) -> f64| fitted.coefficients.iter().map(of).sum::<f64>();
    let penalty = alpha * (l1 * sum(|b| b.abs()) + 0.5 * (1.0 - l1) * sum(|b| b * b));
    let mut found = data.describe(&fitted);
    let halved = data.residual_squares(&fitted) / (2.0 * data.rows.len() as f64);
    found.insert("objective".into(), json!(halved + penalty));
    Ok(Value::Object(found))
}

/// RSS + alpha |b|^2: n times the elastic net's penalty.
pub fn ridge(case: &Case) -> Found {
    let data = Data::read(case)?;
    let penalty = case.number("alpha")? / data.rows.len() as f64;
    let params = Params {
        penalty,
        l1_ratio: 0.0,
        standardise: false,
        tolerance: TOLERANCE,
    };
    Ok(Value::Object(
        data.describe(&fit(&data.rows, &params.check()?)?),
    ))
}

pub fn lasso(case: &Case) -> Found {
    let data = Data::read(case)?;
    Ok(json!({ "alpha_max": largest_penalty(&data.rows, case.number("l1_ratio")?, false) }))
}
