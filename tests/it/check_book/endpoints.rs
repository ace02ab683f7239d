//! Topic 08: first and last dates.

use super::case::{Case, Found, Trouble};
use super::read::{between, count, number_or_none};
use forecast::endpoint::still_there::{StillThere, still_there, still_there_since_first};
use forecast::endpoint::{End, optimal_linear};
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;
use serde_json::{Value, json};

pub fn optimal(case: &Case) -> Found {
    let has = |key: &str| case.inputs.get(key).is_some();
    if has("model") {
        return simulated(case);
    }
    let (key, end) = if has("years") {
        ("years", End::Last)
    } else {
        ("first_dates_doy", End::First)
    };
    let records = case.numbers(key)?;
    let used = if has("k") {
        count(case, "k")? as usize
    } else {
        records.len()
    };
    let alpha = number_or_none(case, "alpha")?.unwrap_or(0.05);
    let e = optimal_linear(&records, end, used, alpha)?;
    Ok(json!({
        "k": e.used,
        "nu_hat": e.shape,
        "weights": e.weights,
        "theta_hat": e.estimate,
        "start_estimate": e.estimate,
        "upper_one_sided_95": e.one_sided,
        "lower_one_sided_95": e.one_sided,
        "two_sided_95": [e.low, e.high],
        "two_sided_95_low_high": [e.low, e.high],
    }))
}

/// Draws seasons as the model says and estimates their start from the earliest dates.
fn simulated(case: &Case) -> Found {
    let form = [
        "",
        "+",
        "*Weibull(shape ",
        "), n=",
        ", k=",
        " earliest, ",
        " reps",
    ];
    let [start, scale, shape, n, k, seasons] = between(case, "model", &form)?;
    let mut random = Pcg64Mcg::seed_from_u64(1);
    let mut estimates = Vec::new();
    for _ in 0..seasons as usize {
        let mut date = || {
            let u: f64 = random.random_range(f64::EPSILON..1.0);
            start + scale * (-u.ln()).powf(1.0 / shape)
        };
        let dates: Vec<f64> = (0..n as usize).map(|_| date()).collect();
        estimates.push(optimal_linear(&dates, End::First, k as usize, 0.05)?.estimate);
    }
    let mean = estimates.iter().sum::<f64>() / seasons;
    let squares: f64 = estimates.iter().map(|e| (e - mean).powi(2)).sum();
    Ok(json!({ "mean": mean, "sd": (squares / (seasons - 1.0)).sqrt(), "true": start }))
}

pub fn solow(case: &Case) -> Found {
    let s = still(case)?;
    Ok(json!({
        "n": s.sightings,
        "t_n": s.last,
        "T": s.watched,
        "p_value": s.p_value,
        "mle": s.last,
        "unbiased": s.unbiased,
        "upper_95": s.upper,
        "post_prob_no_prior_bayes_factor": s.bayes_factor,
    }))
}

fn still(case: &Case) -> Result<StillThere, Trouble> {
    const ALPHA: f64 = 0.05;
    if case.inputs.get("t").is_some() {
        return Ok(still_there(&case.numbers("t")?, case.number("T")?, ALPHA)?);
    }
    let (sightings, end) = (case.numbers("sightings")?, case.number("end")?);
    if case.inputs["first_sighting_sets_origin"] == Value::Bool(true) {
        return Ok(still_there_since_first(&sightings, end, ALPHA)?);
    }
    let start = case.number("start")?;
    let times: Vec<f64> = sightings.iter().map(|s| s - start).collect();
    Ok(still_there(&times, end - start, ALPHA)?)
}
