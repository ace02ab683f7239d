//! Topic 13: detection, visits needed, and intervals of parts and counts.

use super::case::{Case, Found, Trouble};
use forecast::detection::{Method, none_found_limit, part, poisson_mean};
use forecast::negative_binomial::Dispersion;
use forecast::plan::sure::{at_least_once, visits_needed};
use serde_json::{Map, Value, json};

pub fn visits(case: &Case) -> Found {
    if let Ok(chances) = case.numbers("p") {
        return Ok(json!(at_least_once(&chances)));
    }
    if let Ok(mu) = case.number("mu") {
        let p = 1.0 - Dispersion::Theta(case.number("theta")?).zero(mu);
        return Ok(json!({ "p_at_least_one": p, "n_95": whole(needed(p, 0.95)?) }));
    }
    let p = case.number("p")?;
    let wanted = case.expected["p_star"].as_object().ok_or("no p_star")?;
    let mut chances = Map::new();
    for visits in wanted.keys() {
        let alike = vec![p; visits.parse()?];
        chances.insert(visits.clone(), json!(at_least_once(&alike)));
    }
    let (n95, n99) = (needed(p, 0.95)?, needed(p, 0.99)?);
    Ok(json!({
        "p_star": chances,
        "n_exact_95": n95,
        "n_95": whole(n95),
        "n_exact_99": n99,
        "n_99": whole(n99),
    }))
}

fn needed(p: f64, sure: f64) -> Result<f64, Trouble> {
    visits_needed(p, sure).ok_or_else(|| Trouble::Failed(format!("no visits for {p}")))
}

/// As many visits as make it sure; the exact number is 1 for p = sure but for rounding.
fn whole(exact: f64) -> u32 {
    (exact - 1e-9).ceil() as u32
}

pub fn none_found(case: &Case) -> Found {
    let visits = case.number("visits")?;
    if case.number("detections")? != 0.0 {
        return Err(Trouble::Failed("something was detected".into()));
    }
    Ok(json!({
        "upper_95_one_sided": none_found_limit(visits as u32, 0.05),
        // Hanley & Lippman-Hand's shortcut, written out: we use the exact limit
        "rule_of_three": 3.0 / visits,
    }))
}

pub fn parts(case: &Case) -> Found {
    let (k, n) = (case.number("k")? as u32, case.number("n")? as u32);
    let alpha = case.number("alpha")?;
    let mut found = Map::new();
    for (name, method) in [
        ("beta", Method::Exact),
        ("wilson", Method::Wilson),
        ("jeffreys", Method::Jeffreys),
        ("agresti_coull", Method::AgrestiCoull),
    ] {
        let (low, high) = part(k, n, alpha, method).ok_or("no interval")?;
        found.insert(name.to_owned(), json!([low, high]));
    }
    Ok(Value::Object(found))
}

pub fn counts(case: &Case) -> Found {
    let interval = poisson_mean(case.number("count")? as u32, case.number("alpha")?);
    let (low, high) = interval.ok_or("no interval")?;
    Ok(json!([low, high]))
}
