//! What the inputs of topics 05 and 15 ask to be fitted.

use super::case::{Case, Trouble};
use super::either_basis::Basis;
use super::expression::evaluate;
use super::fitted::{Family, Wanted};
use super::table::Table;
use serde_json::Value;

/// The fit that a check's inputs describe.
pub fn wanted(case: &Case, table: &Table) -> Result<Wanted, Trouble> {
    let text = case.text("basis")?;
    let kind = text.split(',').next().unwrap_or(text);
    let k = match case.inputs.get("k") {
        Some(k) => k.as_u64(),
        None => text.split_whitespace().find_map(|w| w.parse().ok()),
    };
    let evenly = case.inputs["knots"].as_str().unwrap_or(text);
    if !["equally spaced on [0,1]", "equal segments on [0,1]"]
        .iter()
        .any(|t| evenly.contains(t))
    {
        return Err(Trouble::Failed(format!("unknown knots {evenly}")));
    }
    let effects = match case.inputs.get("random").and_then(Value::as_str) {
        None => None,
        Some(words) if words.starts_with("iid year intercepts") => Some(years(table)?),
        Some(words) => return Err(Trouble::Failed(format!("unknown random effect {words}"))),
    };
    let lambda = match case.text("smoothing")? {
        "REML" => None,
        "fixed sp" => Some(case.expected["sp"].as_f64().ok_or("no sp")?),
        other => return Err(Trouble::Failed(format!("unknown smoothing {other}"))),
    };
    Ok(Wanted {
        basis: Basis::new(kind, k.ok_or("no number of knots")? as usize)?,
        x: evaluate(case.text("x")?, table)?,
        y: evaluate(case.text("response")?, table)?,
        offset: offset(case, table)?,
        years: effects,
        scatter: family(case)?,
        lambda,
    })
}

fn family(case: &Case) -> Result<Family, Trouble> {
    let theta = case.inputs.get("theta_fixed").and_then(Value::as_f64);
    match case.text("family")? {
        "gaussian" => Ok(Family::Gaussian),
        "poisson" => Ok(Family::Poisson),
        "nb" | "nb log link" => Ok(Family::NegativeBinomial { theta }),
        other => Err(Trouble::Failed(format!("unknown family {other}"))),
    }
}

/// The offset that the inputs name: 0, "none" or an expression.
fn offset(case: &Case, table: &Table) -> Result<Vec<f64>, Trouble> {
    match case.inputs["offset"].as_str() {
        None if case.inputs["offset"] == 0 => Ok(vec![0.0; table.len()]),
        Some("none") => Ok(vec![0.0; table.len()]),
        Some(text) => Ok(evaluate(text, table)?),
        None => Err(Trouble::Failed(format!(
            "unknown offset {}",
            case.inputs["offset"]
        ))),
    }
}

/// The year of each row.
fn years(table: &Table) -> Result<Vec<i32>, Trouble> {
    if table.has("year") {
        return Ok(table
            .numbers("year")?
            .into_iter()
            .map(|y| y as i32)
            .collect());
    }
    Ok(table
        .dates("date")?
        .iter()
        .map(chrono::Datelike::year)
        .collect())
}
