//! Topic 04: negative binomial and Poisson regression, and the distribution itself.

use super::case::{Case, Found, Trouble, stem};
use super::formula::Formula;
use super::model_matrix::ModelMatrix;
use super::table::Table;
use forecast::negative_binomial::Dispersion;
use forecast::regression::{CountData, Regression, Scatter};
use nalgebra::DMatrix;
use serde_json::{Map, Value, json};

pub fn regression(case: &Case) -> Found {
    let table = case.table()?;
    if case.expected.get("se_coef_joint").is_some() {
        return joint(case, &table);
    }
    let scatter = match case.text("variance")? {
        "mu" => Scatter::Known(Dispersion::Poisson),
        "mu+mu^2/theta" => Scatter::Estimated,
        other => return Err(Trouble::Failed(format!("unknown variance {other}"))),
    };
    let formula = Formula::read(case.text("model")?)?;
    let matrix = ModelMatrix::new(&formula, &table)?;
    let fit = fit(
        matrix.columns,
        matrix.offset,
        &table,
        &formula.response,
        scatter,
    )?;
    Ok(report(&matrix.names, &fit))
}

fn fit(
    columns: DMatrix<f64>,
    offset: Vec<f64>,
    table: &Table,
    response: &str,
    scatter: Scatter,
) -> Result<Regression, Trouble> {
    let counts = table.numbers(response)?.into_iter().map(|y| y as u32);
    Ok(CountData::new(columns, offset, counts.collect())?.fit(scatter)?)
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

/// Coefficients and 1/theta together by observed information. The coefficients' names tell the
/// columns: "C(Eth)[T.N]" is 1 where Eth is N, a bare name is a column, ":" multiplies.
fn joint(case: &Case, table: &Table) -> Found {
    let names = case.expected["se_coef_joint"]
        .as_object()
        .ok_or("no coefficients")?;
    let columns: Result<Vec<Vec<f64>>, String> = names.keys().map(|n| column(n, table)).collect();
    let values: Vec<f64> = columns?.concat();
    let matrix = DMatrix::from_vec(table.len(), names.len(), values);
    let (response, offset) = response_and_offset(case, table)?;
    let fit = fit(matrix, offset, table, &response, Scatter::Estimated)?;
    let errors = names
        .keys()
        .cloned()
        .zip(fit.joint_standard_errors.iter().map(|e| json!(e)));
    let theta = fit
        .dispersion
        .theta()
        .ok_or("the counts scatter no wider than Poisson")?;
    Ok(json!({
        "alpha": 1.0 / theta,
        "se_alpha": fit.log_theta_joint_standard_error.map(|e| e / theta),
        "se_coef_joint": errors.collect::<Map<_, _>>(),
    }))
}

fn column(name: &str, table: &Table) -> Result<Vec<f64>, String> {
    let mut column = vec![1.0; table.len()];
    for part in name.split(':').filter(|p| *p != "Intercept") {
        let indicator = part.strip_prefix("C(").and_then(|p| p.strip_suffix(']'));
        let values: Vec<f64> = match indicator.and_then(|p| p.split_once(")[T.")) {
            Some((factor, level)) => table
                .text(factor)?
                .iter()
                .map(|v| f64::from(v == level))
                .collect(),
            None => super::expression::evaluate(part, table)?,
        };
        column.iter_mut().zip(values).for_each(|(c, v)| *c *= v);
    }
    Ok(column)
}

/// Such an entry names its table alone: the model is that of the entry whose id it extends, else
/// of any entry with this table.
fn response_and_offset(case: &Case, table: &Table) -> Result<(String, Vec<f64>), Trouble> {
    let same_table = |c: &&Value| c["inputs"]["csv"] == case.inputs["csv"];
    let extended = |c: &&Value| c["id"].as_str().is_some_and(|id| case.id.starts_with(id));
    let with_model = |c: &&Value| c["inputs"]["model"].is_string();
    let all = || case.topic.iter().filter(with_model);
    let found = all().find(extended).or_else(|| all().find(same_table));
    if let Some(model) = found.and_then(|c| c["inputs"]["model"].as_str()) {
        let formula = Formula::read(model)?;
        let matrix = ModelMatrix::new(&formula, table)?;
        return Ok((formula.response, matrix.offset));
    }
    // the counts that these data sets are about
    let response = match stem(case.text("csv")?) {
        "quine" => "Days",
        "epil" => "y",
        "insurance" => "Claims",
        "warpbreaks" => "breaks",
        other => return Err(Trouble::Failed(format!("no model is known for {other}"))),
    };
    Ok((response.to_owned(), vec![0.0; table.len()]))
}

/// A list of points of the distribution, each with its theta, mean and perhaps count.
pub fn distribution(case: &Case) -> Found {
    let points = case.expected.as_array().ok_or("no list of points")?;
    let found: Result<Vec<Value>, Trouble> = points.iter().map(point).collect();
    Ok(json!(found?))
}

fn point(wanted: &Value) -> Found {
    let number = |key: &str| wanted[key].as_f64().ok_or(format!("no {key}"));
    let (theta, mu) = (number("theta")?, number("mu")?);
    let size = Dispersion::Theta(theta);
    let mut found = Map::new();
    for field in wanted.as_object().into_iter().flat_map(|w| w.keys()) {
        let count = || number("y").map(|y| y as u32);
        let value = match field.as_str() {
            "theta" | "mu" | "y" => wanted[field].clone(),
            "p0" => json!(size.zero(mu)),
            "pmf" => json!(size.ln_pmf(count()?, mu).exp()),
            "logpmf" => json!(size.ln_pmf(count()?, mu)),
            "cdf" => json!(size.cdf(count()?, mu)),
            quantile => {
                let percent = quantile
                    .strip_prefix('q')
                    .and_then(|p| p.parse::<f64>().ok());
                let p = percent.ok_or(format!("unknown field {quantile}"))? / 100.0;
                json!(size.quantile(p, mu))
            }
        };
        found.insert(field.clone(), value);
    }
    Ok(Value::Object(found))
}
