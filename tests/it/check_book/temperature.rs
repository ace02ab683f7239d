//! Topic 09: dated events against temperature.

use super::case::{Case, Found, Trouble};
use super::table::Table;
use chrono::{Datelike, Duration, NaiveDate};
use forecast::degree_days::{Method, Params};
use forecast::straight_line::{Line, Point, root_mean_square};
use forecast::temperature::daily::DailyTemperature;
use forecast::trend::{rank_correlation, slope_of_pairs};
use serde_json::{Map, Value, json};

/// Rows of the table of ice-off dates.
struct Ice {
    years: Vec<f64>,
    dates: Vec<NaiveDate>,
    days: Vec<f64>,
}

impl Ice {
    fn read(table: &Table) -> Result<Self, Trouble> {
        let (years, days) = (table.numbers("year")?, table.numbers("ice_off_doy")?);
        Ok(Ice {
            years,
            dates: table.dates("ice_off")?,
            days,
        })
    }
}

fn line(x: &[f64], y: &[f64]) -> Result<Line, Trouble> {
    let points = x.iter().zip(y).map(|(x, y)| Point {
        x: *x,
        y: *y,
        weight: 1.0,
    });
    Ok(Line::fit(&points.collect::<Vec<_>>())?)
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn rms(errors: &[f64]) -> f64 {
    root_mean_square(errors, &vec![1.0; errors.len()])
}

/// "all rows", "year>=1950", "year<=1990": the years that count.
fn wanted(rows: &str) -> Result<impl Fn(f64) -> bool, Trouble> {
    let (order, year) = match rows.strip_prefix("year") {
        None if rows == "all rows" => (">=", "0"),
        None => return Err(Trouble::Failed(format!("unknown rows {rows}"))),
        Some(rest) => rest.split_at(rest.find(|c: char| !"<>=".contains(c)).unwrap_or(0)),
    };
    let year: f64 = year.trim().parse()?;
    let keep: fn(f64, f64) -> bool = match order {
        ">=" => |a, b| a >= b,
        "<=" => |a, b| a <= b,
        ">" => |a, b| a > b,
        "<" => |a, b| a < b,
        _ => return Err(Trouble::Failed(format!("unknown rows {rows}"))),
    };
    Ok(move |y| keep(y, year))
}

pub fn regression(case: &Case) -> Found {
    let table = case.table()?;
    let keep = wanted(case.text("rows")?)?;
    let years = table.numbers("year")?;
    let column = |key: &str| -> Result<Vec<f64>, Trouble> {
        let all = table.numbers(case.text(key)?)?;
        Ok(all
            .into_iter()
            .zip(&years)
            .filter(|(_, y)| keep(**y))
            .map(|(v, _)| v)
            .collect())
    };
    let (x, y) = (column("x")?, column("y")?);
    let (line, n) = (line(&x, &y)?, y.len() as f64);
    // the others' mean misses a point by n / (n - 1) times what the mean of all does
    let usual = mean(&y);
    let without: Vec<f64> = y.iter().map(|y| (y - usual) * n / (n - 1.0)).collect();
    let absolute: Vec<f64> = line.left_out.iter().map(|e| e.abs()).collect();
    let at = [-5.0, 0.0, 2.0];
    Ok(json!({
        "n": line.points,
        "intercept": line.intercept,
        "slope_days_per_degC": line.slope,
        "se_intercept": line.intercept_se,
        "se_slope": line.slope_se,
        "ci95_slope": line.slope_interval(0.95),
        "r2": line.r_squared,
        "resid_sd": line.residual_sd,
        "t": line.slope_t(),
        "loo_rmse": rms(&line.left_out),
        "loo_mae": mean(&absolute),
        "climatology_loo_rmse": rms(&without),
        "residual_lag1": line.residual_lag_1(),
        "pred_at_-5_0_2": at.map(|x| line.at(x)),
        "pred_interval_90": at.map(|x| line.prediction_interval(x, 0.9)),
    }))
}

pub fn trend(case: &Case) -> Found {
    let ice = Ice::read(&case.table()?)?;
    let line = line(&ice.years, &ice.days)?;
    Ok(json!({
        "slope_days_per_year": line.slope,
        "se": line.slope_se,
        "r2": line.r_squared,
        "theil_sen": slope_of_pairs(&ice.years, &ice.days),
        "kendall_tau_b": rank_correlation(&ice.years, &ice.days),
        "n": line.points,
    }))
}

/// The table of this name among the two of the topic's regressions.
fn table(case: &Case, name: &str) -> Result<Table, Trouble> {
    let inputs = json!({ "csv": name });
    Case {
        inputs: &inputs,
        ..*case
    }
    .table()
}

fn daily(case: &Case) -> Result<DailyTemperature, Trouble> {
    let table = table(case, "data/madison_daily_temp_jan_apr.csv")?;
    let means = table.numbers("mean_temp_c")?;
    let days: Vec<_> = table.dates("date")?.into_iter().zip(means).collect();
    Ok(DailyTemperature::new(&days)?)
}

/// The windows that the check tries, in its words: "... end doy 60..100 step 5 (...), L in
/// 15,30,45,60" as (last day, length).
fn windows(text: &str) -> Result<Vec<(u32, usize)>, Trouble> {
    let number = |t: &str| {
        t.parse::<u32>()
            .map_err(|_| format!("unknown windows {text}"))
    };
    let ends = text
        .strip_prefix("end doy ")
        .and_then(|t| t.split_once(" step "));
    let (ends, rest) = ends.ok_or_else(|| format!("unknown windows {text}"))?;
    let (first, last) = ends
        .split_once("..")
        .ok_or_else(|| format!("unknown windows {text}"))?;
    let step = rest.split(' ').next().unwrap_or_default();
    let lengths = rest.split_once("L in ").map_or("", |(_, l)| l);
    let lengths: Result<Vec<u32>, _> = lengths.split(',').map(|l| number(l.trim())).collect();
    let lengths = lengths?;
    let ends = (number(first)?..=number(last)?).step_by(number(step)? as usize);
    Ok(ends
        .flat_map(|end| lengths.iter().map(move |l| (end, *l as usize)))
        .collect())
}

pub fn window_search(case: &Case) -> Found {
    let ice = Ice::read(&table(case, "data/mendota_iceoff_temp.csv")?)?;
    let temperature = daily(case)?;
    let mut tried = Vec::new();
    for (end, length) in windows(case.text("windows")?)? {
        let warmth = |year: &f64| {
            let last = NaiveDate::from_yo_opt(*year as i32, end)?;
            temperature.mean(last - Duration::days(length as i64 - 1), length)
        };
        let x: Option<Vec<f64>> = ice.years.iter().map(warmth).collect();
        let x = x.ok_or_else(|| format!("no temperatures for {length} days to day {end}"))?;
        let line = line(&x, &ice.days)?;
        tried.push((rms(&line.left_out), end, length, line));
    }
    tried.sort_by(|a, b| a.0.total_cmp(&b.0));
    let [best, second, ..] = tried.as_slice() else {
        return Err(Trouble::Failed("fewer than two windows".into()));
    };
    Ok(json!({
        "best_end_doy": best.1,
        "best_length": best.2,
        "loo_rmse": best.0,
        "slope": best.3.slope,
        "r2": best.3.r_squared,
        "runner_up": {
            "loo_rmse": second.0,
            "end_doy": second.1,
            "length": second.2,
            "slope": second.3.slope,
            "r2": second.3.r_squared,
        },
    }))
}

/// Thaw above 0 deg C from 1 January to the ice-off; days that the table lacks are filled.
pub fn thaw(case: &Case) -> Found {
    let ice = Ice::read(&table(case, "data/mendota_iceoff_temp.csv")?)?;
    let params = Params {
        method: Method::Average,
        lower: 0.0,
        upper: None,
    }
    .check()?;
    let temperature = daily(case)?;
    let sum = |date: &NaiveDate| {
        let days = date.ordinal() as usize;
        let from = *date - Duration::days(days as i64 - 1);
        let sum = temperature.degree_days(from, days, &params);
        sum.ok_or_else(|| Trouble::Failed(format!("no temperatures until {date}")))
    };
    let sums: Result<Vec<f64>, Trouble> = ice.dates.iter().map(sum).collect();
    let sums = sums?;
    let squares: f64 = sums.iter().map(|s| (s - mean(&sums)).powi(2)).sum();
    let mut sorted = sums.clone();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    let mut found = Map::new();
    let mut put = |key: &str, value: Value| found.insert(key.into(), value);
    put("median", json!(0.5 * (sorted[(n - 1) / 2] + sorted[n / 2])));
    put("mean", json!(mean(&sums)));
    put("sd", json!((squares / (n as f64 - 1.0)).sqrt()));
    put("first3", json!(sums[..3.min(n)]));
    Ok(Value::Object(found))
}
