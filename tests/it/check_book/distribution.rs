//! Topic 04, its second part: the negative binomial distribution.

use super::case::{Case, Found, Trouble};
use forecast::negative_binomial::Dispersion;
use serde_json::{Map, Value, json};

/// A list of points of the distribution, each with its theta, mean and perhaps count.
pub fn points(case: &Case) -> Found {
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
