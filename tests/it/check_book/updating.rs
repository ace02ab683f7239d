//! Topic 16, its first part: learning from a season under way.

use super::case::{Case, Found, Trouble, numbers};
use super::read::{between, counts, whole};
use forecast::negative_binomial::Dispersion;
use forecast::updating::{Abundance, NormalBelief, ShiftPosterior, shift_posterior};
use serde_json::{Value, json};

pub fn gamma_poisson(case: &Case) -> Found {
    let prior = Abundance::new(case.number("prior_shape")?, case.number("prior_rate")?)?;
    let after = prior.updated(&counts(case, "counts")?, &case.numbers("expected")?)?;
    let (mean, size) = after.predictive(case.number("next_expected")?);
    let at = [0.05, 0.5, 0.95];
    Ok(json!({
        "post_shape": after.shape(),
        "post_rate": after.rate(),
        "mean": after.mean(),
        "quantiles_05_50_95": at.map(|p| after.quantile(p)),
        "predictive_next": {
            "size": size.theta(),
            "mean": mean,
            "p0": size.zero(mean),
            "q05_50_95": at.map(|p| size.quantile(p, mean)),
        },
    }))
}

pub fn normal_shift(case: &Case) -> Found {
    let (mean, sd) = (case.number("prior_mean")?, case.number("prior_sd")?);
    let belief = NormalBelief { mean, sd };
    let (after, weight) = belief.updated(case.number("obs")?, case.number("obs_sd")?)?;
    Ok(json!({ "mean": after.mean, "sd": after.sd, "weight": weight }))
}

pub fn shift_grid(case: &Case) -> Found {
    let after = shift(case)?;
    let mut found = json!({
        "mean": after.mean(),
        "sd": after.sd(),
        "mode": after.mode(),
        "prob_earlier": after.earlier(),
    });
    // the name of a stretch of the posterior says which
    let expected = case.expected.as_object().ok_or("no fields are expected")?;
    for name in expected.keys().filter(|k| k.starts_with("pmf_")) {
        let (first, last) = stretch(name).ok_or_else(|| format!("what is {name}?"))?;
        let inside = |(s, _): &&(f64, f64)| (first..=last).contains(s);
        let part: Vec<f64> = after.grid().iter().filter(inside).map(|g| g.1).collect();
        found[name.as_str()] = json!(part);
    }
    Ok(found)
}

fn shift(case: &Case) -> Result<ShiftPosterior, Trouble> {
    let bell = ["", "*exp(-0.5*((d-", ")/", ")^2)+", ""];
    let [top, centre, width, floor] = between(case, "curve", &bell)?;
    let grid = ["N(", ",", "^2) on integer shifts ", "..", " (s>0 = later)"];
    let [mean, sd, first, last] = between(case, "prior", &grid)?;
    let rows = case.inputs["counts"]
        .as_array()
        .ok_or("counts is no list")?;
    let row = |row: &Value| -> Result<(f64, u32), Trouble> {
        let pair = numbers(row)?;
        Ok((pair[0], whole(pair[1])?))
    };
    let counts: Vec<(f64, u32)> = rows.iter().map(row).collect::<Result<_, _>>()?;
    let shifts = (first as i32..=last as i32).map(f64::from);
    let prior = NormalBelief { mean, sd }.on_grid(shifts);
    let curve = |d: f64| top * (-0.5 * ((d - centre) / width).powi(2)).exp() + floor;
    Ok(shift_posterior(
        &prior,
        curve,
        Dispersion::Poisson,
        &counts,
    )?)
}

/// "pmf_minus8_to_0" -> (-8, 0)
fn stretch(name: &str) -> Option<(f64, f64)> {
    let (first, last) = name.strip_prefix("pmf_")?.split_once("_to_")?;
    let number = |text: &str| text.replace("minus", "-").parse().ok();
    Some((number(first)?, number(last)?))
}
