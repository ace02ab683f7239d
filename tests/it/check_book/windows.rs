//! Topic 05b: peak, trough and the days by which a part has gone through.

use super::case::{Case, Found, Trouble};
use super::either_basis::Basis;
use super::expression::evaluate;
use super::fitted::{Family, Wanted};
use forecast::window::{first_and_last_at_or_above, peak, quantile_day, trough};
use forecast::year_curve::NO_SEASON_EDF;
use forecast::year_curve::posterior::Posterior;
use serde_json::{Map, Value, json};

const DAYS: usize = 365;
const DRAWS: usize = 20_000;

pub fn windows(case: &Case) -> Found {
    let words = [
        (
            "grid",
            "doy 1..365, phase=(doy-0.5)/365, rate per plot (offset 0)",
        ),
        ("quantiles", "cumulative from trough day"),
    ];
    for (key, known) in words {
        if case.text(key)? != known {
            return Err(Trouble::Failed(format!(
                "unknown {key}: {}",
                case.text(key)?
            )));
        }
    }
    let wanted = wanted(case)?;
    let curve = wanted.counts()?;
    let information = curve.information(&curve.expected_weights())?;
    let phases: Vec<f64> = (1..=DAYS).map(|d| (d as f64 - 0.5) / DAYS as f64).collect();
    let posterior = curve.at(&wanted.basis, &phases, &information.covariance);
    let rates: Vec<f64> = posterior.mean().iter().map(|e| e.exp()).collect();
    let ratio = rates[peak(&rates)] / rates[trough(&rates)];
    if information.edf_smooth < NO_SEASON_EDF {
        return Ok(json!({ "flat": ratio < 1.01, "peak_to_trough": ratio }));
    }
    Ok(Value::Object(dates(case.expected, &rates, &posterior)?))
}

/// "nb_cc_reml_PP in 05_cyclic_spline.json": family, basis, perhaps "k20", smoothing, species.
/// Curves of these counts have 12 knots and an offset of log(plots) where not said otherwise.
fn wanted(case: &Case) -> Result<Wanted, Trouble> {
    let name = case
        .text("fit")?
        .split_whitespace()
        .next()
        .unwrap_or_default();
    let parts: Vec<&str> = name.split('_').collect();
    let (k, rest) = match parts.get(2).and_then(|p| p.strip_prefix('k')?.parse().ok()) {
        Some(k) => (k, &parts[3..]),
        None => (12, parts.get(2..).unwrap_or_default()),
    };
    let (["nb", basis, ..], ["reml", species]) = (&parts[..], rest) else {
        return Err(Trouble::Failed(format!("unknown fit {name}")));
    };
    let table = case.table()?;
    Ok(Wanted {
        basis: Basis::new(basis, k)?,
        x: table.numbers("phase")?,
        y: table.numbers(species)?,
        offset: evaluate("log(plots)", &table)?,
        years: None,
        scatter: Family::NegativeBinomial { theta: None },
        lambda: None,
    })
}

fn dates(
    expected: &Value,
    rates: &[f64],
    posterior: &Posterior,
) -> Result<Map<String, Value>, Trouble> {
    let (top, low) = (peak(rates), trough(rates));
    let mut found = Map::from_iter([
        ("peak_doy".into(), json!(top + 1)),
        ("trough_doy".into(), json!(low + 1)),
        ("peak_rate".into(), json!(rates[top])),
        ("trough_rate".into(), json!(rates[low])),
        ("peak_to_trough".into(), json!(rates[top] / rates[low])),
        ("flat".into(), json!(rates[top] / rates[low] < 1.01)),
    ]);
    let draws = posterior.draws(DRAWS, 5);
    for field in expected.as_object().into_iter().flat_map(|e| e.keys()) {
        let between = |start: &str, end: &str| field.strip_prefix(start)?.strip_suffix(end);
        if let Some(part) = between("first_doy_at_or_above_", "_of_peak") {
            let days = first_and_last_at_or_above(rates, part.parse()?);
            found.insert(field.clone(), json!(days.map(|d| d.0 + 1)));
        } else if let Some(part) = between("last_doy_at_or_above_", "_of_peak") {
            let days = first_and_last_at_or_above(rates, part.parse()?);
            found.insert(field.clone(), json!(days.map(|d| d.1 + 1)));
        } else if let Some(p) = between("passage_quantile_", "_doy") {
            found.insert(
                field.clone(),
                json!(quantile_day(rates, low, p.parse()?) + 1),
            );
        } else if let Some(levels) = field.strip_prefix("peak_doy_sim_quantiles_") {
            let offsets = draws.iter().map(|d| days_from(top, peak(d))).collect();
            let days = quantiles(offsets, levels)?.into_iter();
            let round = |o: f64| (top as f64 + o).rem_euclid(DAYS as f64) + 1.0;
            found.insert(field.clone(), json!(days.map(round).collect::<Vec<_>>()));
        } else if let Some(levels) = field.strip_prefix("ratio_sim_quantiles_") {
            let ratio = |d: &Vec<f64>| (d[peak(d)] - d[trough(d)]).exp();
            let ratios = draws.iter().map(ratio).collect();
            found.insert(field.clone(), json!(quantiles(ratios, levels)?));
        }
    }
    Ok(found)
}

/// Days from one to another, the shorter way round.
fn days_from(from: usize, to: usize) -> f64 {
    let ahead = (to + DAYS - from) % DAYS;
    if ahead > DAYS / 2 {
        ahead as f64 - DAYS as f64
    } else {
        ahead as f64
    }
}

/// Quantiles at levels such as "05_50_95", in percent.
fn quantiles(mut values: Vec<f64>, levels: &str) -> Result<Vec<f64>, Trouble> {
    values.sort_by(f64::total_cmp);
    let one = |level: &str| {
        let part = level.parse::<f64>()? / 100.0;
        Ok(values[(part * (values.len() - 1) as f64).round() as usize])
    };
    levels.split('_').map(one).collect()
}
