//! Topic 04: standard errors by the joint information of coefficients and theta.

use super::case::{Case, Found, Trouble, stem};
use super::formula::Formula;
use super::glm::fit;
use super::model_matrix::ModelMatrix;
use super::table::Table;
use forecast::regression::Scatter;
use nalgebra::DMatrix;
use serde_json::{Map, Value, json};

/// Coefficients and 1/theta together by observed information. The coefficients' names tell the
/// columns: "C(Eth)[T.N]" is 1 where Eth is N, a bare name is a column, ":" multiplies.
pub fn errors(case: &Case, table: &Table) -> Found {
    let names = case.expected["se_coef_joint"]
        .as_object()
        .ok_or("no coefficients")?;
    let columns: Result<Vec<Vec<f64>>, String> = names.keys().map(|n| column(n, table)).collect();
    let values: Vec<f64> = columns?.concat();
    let (response, offset) = response_and_offset(case, table)?;
    let matrix = ModelMatrix {
        names: names.keys().cloned().collect(),
        columns: DMatrix::from_vec(table.len(), names.len(), values),
        offset,
    };
    let fit = fit(&matrix, table, &response, Scatter::Estimated)?;
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
