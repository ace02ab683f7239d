//! Topic 07: proper scores.

use super::case::{Case, Found, Trouble};
use super::read::{count, counts};
use forecast::negative_binomial::Dispersion;
use forecast::score::log_score::{count_sd, dawid_sebastiani, log_loss};
use forecast::score::pit::{Step, nonrandomised};
use forecast::score::{Issued, brier, crps, diebold_mariano, interval, log_score};
use serde_json::json;
use statrs::distribution::Normal;

pub fn ranked_by_kind(case: &Case) -> Found {
    match case.id.split('/').nth(1) {
        Some("normal") => normal(case),
        Some("poisson") => of_count(case, Dispersion::Poisson, case.number("lam")?),
        Some("negbin") => {
            let size = Dispersion::Theta(case.number("theta")?);
            of_count(case, size, case.number("mu")?)
        }
        Some("ensemble") => ensemble(case),
        _ => Err(Trouble::Failed(format!(
            "unknown kind of forecast: {}",
            case.id
        ))),
    }
}

fn normal(case: &Case) -> Found {
    let (mean, sd) = (case.number("mu")?, case.number("sd")?);
    let (forecast, observed) = (Normal::new(mean, sd)?, case.number("obs")?);
    Ok(json!({
        "crps": crps::normal(&forecast, observed),
        "log_score": log_score::normal(&forecast, observed),
        "dawid_sebastiani": dawid_sebastiani(mean, sd, observed),
    }))
}

/// `crps` is summed over the distribution as a table, `crps_closed` by the closed form: two ways
/// of ours against two of theirs. A Poisson has the closed form under `crps`.
fn of_count(case: &Case, size: Dispersion, mu: f64) -> Found {
    let observed = count(case, "obs")?;
    let closed = crps::count(size, mu, observed);
    let last = size.quantile(1.0 - 1e-13, mu).ok_or("no quantile")?;
    let table: Vec<f64> = (0..=last).map(|y| size.cdf(y, mu)).collect();
    let summed = crps::discrete(&table, observed)?;
    Ok(json!({
        "crps": if size == Dispersion::Poisson { closed } else { summed },
        "crps_closed": closed,
        "log_score": log_score::count(size, mu, observed),
        "dawid_sebastiani": dawid_sebastiani(mu, count_sd(size, mu), f64::from(observed)),
        "p_zero": size.zero(mu),
    }))
}

fn ensemble(case: &Case) -> Found {
    let (members, observed) = (case.numbers("members")?, case.number("obs")?);
    Ok(json!({
        "crps": crps::ensemble(&members, observed)?,
        "crps_fair": crps::fair_ensemble(&members, observed)?,
    }))
}

pub fn chances(case: &Case) -> Found {
    let said = case.numbers("forecast")?.into_iter();
    let one = |(chance, came)| Issued {
        chance,
        happened: came == 1,
    };
    let issued: Vec<Issued> = said.zip(counts(case, "outcome")?).map(one).collect();
    let parts = brier::decompose(&issued)?;
    Ok(json!({
        "brier": parts.brier,
        "reliability": parts.reliability,
        "resolution": parts.resolution,
        "uncertainty": parts.uncertainty,
        "skill_vs_climatology": parts.skill(),
        "log_loss_nats": log_loss(&issued)?,
    }))
}

pub fn pinball(case: &Case) -> Found {
    let (quantile, tau) = (case.number("quantile")?, case.number("tau")?);
    Ok(json!(interval::pinball(
        quantile,
        tau,
        case.number("obs")?
    )?))
}

pub fn ranked_classes(case: &Case) -> Found {
    let observed = count(case, "obs_index0")? as usize;
    Ok(json!(crps::ranked_probability(
        &case.numbers("p")?,
        observed
    )?))
}

pub fn interval_score(case: &Case) -> Found {
    let (lower, upper) = (case.number("lower")?, case.number("upper")?);
    let (alpha, observed) = (case.number("alpha")?, case.number("obs")?);
    Ok(json!(interval::interval(lower, upper, alpha, observed)?))
}

pub fn pit(case: &Case) -> Found {
    let size = match case.inputs.get("theta") {
        Some(_) => Dispersion::Theta(case.number("theta")?),
        None => Dispersion::Poisson,
    };
    let means = case.numbers("mu")?.into_iter();
    let pairs: Vec<(f64, u32)> = means.zip(counts(case, "obs")?).collect();
    let step = |(mu, y): &(f64, u32)| Step::of_count(size, *mu, *y);
    let steps: Vec<Step> = pairs.iter().map(step).collect();
    let even = nonrandomised(&steps, count(case, "bins")? as usize)?;
    let mean = |score: &dyn Fn(f64, u32) -> f64| {
        pairs.iter().map(|(mu, y)| score(*mu, *y)).sum::<f64>() / pairs.len() as f64
    };
    Ok(json!({
        "P_lower": steps.iter().map(|s| s.lower).collect::<Vec<_>>(),
        "P_upper": steps.iter().map(|s| s.upper).collect::<Vec<_>>(),
        "Fbar": even.cumulative,
        "hist_mass": even.mass,
        "mean_log_score": mean(&|mu, y| log_score::count(size, mu, y)),
        "mean_DSS": mean(&|mu, y| dawid_sebastiani(mu, count_sd(size, mu), f64::from(y))),
    }))
}

pub fn equal_accuracy(case: &Case) -> Found {
    let test = diebold_mariano::diebold_mariano(&case.numbers("loss_diff")?, 1)?;
    Ok(json!({ "dm": test.statistic, "harvey_corrected": test.corrected }))
}
