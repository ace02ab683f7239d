//! Topic 05c: entries of the bases and penalties, and curves small enough to work out by hand.

use super::case::{Case, Found, Trouble};
use super::either_basis::Basis;
use super::expression::with_names;
use forecast::year_curve::basis::{BSpline, CubicSpline, CyclicBasis};
use forecast::year_curve::gaussian::{Smoothness, fit};
use nalgebra::{DMatrix, SymmetricEigen};
use serde_json::{Value, json};

pub fn basis(case: &Case) -> Found {
    if case.inputs.get("knots").is_some() {
        return entries(&CubicSpline::new(&case.numbers("knots")?)?, case);
    }
    // our order: column c is the spline whose support starts c - 3 segments from 0
    let order = case.text("order")?;
    if !order.starts_with("column c is the B-spline whose support starts (c-3) segments from 0") {
        return Err(Trouble::Failed(format!("unknown order {order}")));
    }
    entries(&BSpline::new(case.number("K")? as usize)?, case)
}

fn entries(basis: &impl CyclicBasis, case: &Case) -> Found {
    let x: Vec<Vec<f64>> = case.numbers("x")?.iter().map(|x| basis.row(*x)).collect();
    let sums: Vec<f64> = x.iter().map(|row| row.iter().sum()).collect();
    let penalty = basis.penalty();
    let mut eigenvalues: Vec<f64> = SymmetricEigen::new(penalty.clone())
        .eigenvalues
        .iter()
        .copied()
        .collect();
    eigenvalues.sort_by(f64::total_cmp);
    let penalty = rows(&penalty);
    Ok(json!({
        "X": x, "S": penalty, "P": penalty, "S_eigenvalues": eigenvalues, "row_sums": sums,
    }))
}

fn rows(matrix: &DMatrix<f64>) -> Vec<Vec<f64>> {
    matrix
        .row_iter()
        .map(|r| r.iter().copied().collect())
        .collect()
}

/// Penalised least squares without an intercept of its own; ours has one and centres the curve,
/// which spans the same space under the same penalty.
pub fn toy(case: &Case) -> Found {
    let y = case.numbers("y")?;
    let (text, range) = case.text("x")?.split_once(", ").ok_or("no range of i")?;
    if range != format!("i=0..{}", y.len() - 1) {
        return Err(Trouble::Failed(format!("unknown range {range}")));
    }
    let steps: Vec<f64> = (0..y.len()).map(|i| i as f64).collect();
    let x = with_names(text, y.len(), &|_| Ok(steps.clone()))?;
    let words: Vec<&str> = case.text("basis")?.split_whitespace().collect();
    let [kind, k, "knots" | "segments"] = words[..] else {
        return Err(Trouble::Failed(format!("unknown basis {words:?}")));
    };
    let basis = Basis::new(kind, k.parse()?)?;
    let curve = fit(&basis, &x, &y, Smoothness::Fixed(case.number("lam")?))?;
    let at_rows = curve.at(&basis, &x);
    let n = y.len() as f64;
    let left: Vec<f64> = y.iter().zip(at_rows.mean()).map(|(y, m)| y - m).collect();
    // leverage of a row: its variance over the residual one
    let leverages = at_rows
        .standard_error()
        .into_iter()
        .map(|e| e * e / curve.scale);
    let left_out = left
        .iter()
        .zip(leverages)
        .map(|(r, h)| (r / (1.0 - h)).powi(2));
    let nodes = curve.at(&basis, &basis.nodes());
    Ok(Value::from_iter([
        ("coef", json!(basis.coefficients(nodes.mean())?)),
        ("fitted", json!(at_rows.mean())),
        ("edf", json!(curve.edf)),
        ("rss", json!(curve.rss)),
        ("gcv", json!(n * curve.rss / (n - curve.edf).powi(2))),
        ("loocv", json!(left_out.sum::<f64>() / n)),
    ]))
}
