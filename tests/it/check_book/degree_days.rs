//! Topic 02: degree days of a day, and summed over a year.

use super::case::{Case, Found, Trouble};
use chrono::{Datelike, NaiveDate};
use forecast::degree_days::{
    Accumulated, CutOff, DayTemperature, DegreeDayError, Method, Params, degree_days as of_day,
};
use serde_json::{Map, Value, json};

pub fn degree_days(case: &Case) -> Found {
    if case.inputs.get("csv").is_some() {
        return accumulate(case);
    }
    let day = DayTemperature::new(case.number("tmax")?, case.number("tmin")?)?;
    let upper = case.inputs["upper"].as_f64();
    let mut found = Map::new();
    for field in fields(case.expected)? {
        let (name, cut_off) = field.split_once('/').unwrap_or((field, ""));
        let params = params(name, case.number("lower")?, upper, cut_off)?.check()?;
        found.insert(field.clone(), json!(of_day(day, &params)));
    }
    Ok(Value::Object(found))
}

fn fields(value: &Value) -> Result<impl Iterator<Item = &String>, Trouble> {
    let map = value.as_object();
    Ok(map.ok_or_else(|| format!("no fields in {value}"))?.keys())
}

/// The book's names for methods and cut-offs.
fn params(name: &str, lower: f64, upper: Option<f64>, cut_off: &str) -> Result<Params, Trouble> {
    let method = match name {
        "single_sine" => Method::SingleSine,
        "single_triangle" => Method::SingleTriangle,
        "average_no_upper" => Method::Average,
        "mcmaster_wilhelm_1" | "average_mw1" => Method::McMasterWilhelm1,
        "mcmaster_wilhelm_2" | "mw2" => Method::McMasterWilhelm2,
        _ => return Err(Trouble::Failed(format!("unknown method {name}"))),
    };
    let upper = match (method, cut_off) {
        (Method::Average, "") | (_, "none") => None,
        (Method::McMasterWilhelm1 | Method::McMasterWilhelm2, "") | (_, "horizontal") => {
            upper.map(|u| (u, CutOff::Horizontal))
        }
        (_, "intermediate") => upper.map(|u| (u, CutOff::Intermediate)),
        (_, "vertical") => upper.map(|u| (u, CutOff::Vertical)),
        _ => return Err(Trouble::Failed(format!("unknown cut-off {cut_off}"))),
    };
    Ok(Params {
        method,
        lower,
        upper,
    })
}

fn accumulate(case: &Case) -> Found {
    let table = case.table()?;
    let start: NaiveDate = case.text("start")?.parse()?;
    let (max, min) = (table.numbers("temp_max")?, table.numbers("temp_min")?);
    let days: Result<Vec<_>, DegreeDayError> = table
        .dates("date")?
        .into_iter()
        .zip(max.iter().zip(&min))
        .filter(|(date, _)| *date >= start)
        .map(|(date, (max, min))| Ok((date, DayTemperature::new(*max, *min)?)))
        .collect();
    let days = days?;
    let mut found = Map::new();
    for thresholds in fields(case.expected)? {
        let (lower, upper) = lower_and_upper(thresholds)?;
        let mut by_method = Map::new();
        for name in fields(&case.expected[thresholds])? {
            let params = params(name, lower, upper, case.text("cutoff")?)?.check()?;
            let sums = Accumulated::over(&days, &params)?;
            let wanted = fields(&case.expected[thresholds][name])?;
            let one = |field: &String| Ok((field.clone(), read_off(&sums, field, start.year())?));
            let values: Result<Map<_, _>, Trouble> = wanted.map(one).collect();
            by_method.insert(name.clone(), Value::Object(values?));
        }
        found.insert(thresholds.clone(), Value::Object(by_method));
    }
    Ok(Value::Object(found))
}

/// "L=10,U=30" or "L=4.4,U=None"
fn lower_and_upper(text: &str) -> Result<(f64, Option<f64>), Trouble> {
    let parts = text.strip_prefix("L=").and_then(|t| t.split_once(",U="));
    let (lower, upper) = parts.ok_or_else(|| format!("unknown thresholds {text}"))?;
    let upper = match upper {
        "None" => None,
        number => Some(number.parse()?),
    };
    Ok((lower.parse()?, upper))
}

fn read_off(sums: &Accumulated, field: &str, year: i32) -> Found {
    if field == "sum_year" {
        return Ok(json!(sums.total()));
    }
    if let Some(day) = field.strip_prefix("sum_to_") {
        return Ok(json!(sums.through(format!("{year}-{day}").parse()?)));
    }
    if let Some(goal) = field.strip_prefix("first_date_cum>=") {
        return Ok(json!(sums.first_reaching(goal.parse()?)));
    }
    Err(Trouble::Failed(format!("unknown field {field}")))
}
