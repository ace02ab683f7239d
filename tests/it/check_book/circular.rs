//! Topic 14: circular statistics.

use super::case::{Case, Found};
use forecast::circular::{circular_linear_correlation, summarise};
use serde_json::json;

pub fn circular(case: &Case) -> Found {
    let period = case.number("period")?;
    if case.inputs.get("temp").is_some() {
        let (days, beside) = (case.numbers("doy")?, case.numbers("temp")?);
        return Ok(json!(circular_linear_correlation(&days, &beside, period)));
    }
    // the values stand in the check or in a table of one column
    let values = if case.inputs["values"].is_null() {
        case.table()?.numbers("hours_decimal")?
    } else {
        case.numbers("values")?
    };
    let s = summarise(&values, period).ok_or("nothing to describe")?;
    Ok(json!({
        "n": s.n,
        "R": s.resultant,
        "r": s.mean_resultant,
        "mean": s.mean,
        "circ_sd": s.sd,
        "angular_deviation": s.angular_deviation,
        "rayleigh_z": s.rayleigh.z,
        "rayleigh_p_zar": s.rayleigh.p,
        "rayleigh_p_series": s.rayleigh.p_series,
        "kappa_mle": s.kappa,
        "circular_dispersion": s.dispersion,
        "ci95_half_width": s.ci95_half_width,
    }))
}
