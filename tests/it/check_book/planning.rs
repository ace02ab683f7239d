//! Topic 16: the dates that find a bird with the best chance.

use super::case::{Case, Found};
use chrono::{Duration, NaiveDate};
use forecast::calendar::DayOfYear;
use forecast::negative_binomial::Dispersion;
use forecast::plan::{Candidate, Reach, Rules, choose};
use serde_json::{Map, Value, json};

/// Any year that is not a leap year will do.
const YEAR: i32 = 2026;

pub fn best(case: &Case) -> Found {
    let size = Dispersion::Theta(case.number("theta")?);
    let means = case.inputs["mean_by_doy"].as_object().ok_or("no means")?;
    let first = NaiveDate::from_ymd_opt(YEAR, 1, 1).ok_or("no such year")?;
    let (mut candidates, mut none) = (Vec::new(), Vec::new());
    for (day, mean) in means {
        let date = first + Duration::days(day.parse::<i64>()? - 1);
        candidates.push(Candidate { date, site: 0 });
        none.push(size.zero(mean.as_f64().ok_or("a mean is no number")?));
    }
    let reach = Reach::new(&[1.0], &[1.0], none.iter().map(|z| vec![*z]))?;
    let gap = case
        .number("min_gap")
        .or_else(|_| case.number("min_gap_days"))?;
    let rules = Rules::new(case.number("visits")? as usize)?.gap((gap as u32).max(1))?;
    let plan = choose(&reach, &candidates, &[], &rules);
    let day = |place: &usize| DayOfYear::of(candidates[*place].date).get();
    let detect = means
        .keys()
        .zip(&none)
        .map(|(d, z)| (d.clone(), json!(1.0 - z)));
    Ok(json!({
        "p_detect": detect.collect::<Map<String, Value>>(),
        "chosen": plan.places.iter().map(day).collect::<Vec<_>>(),
        "p_at_least_once": plan.value,
    }))
}
