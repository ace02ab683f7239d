//! Topic 01: ISO weeks, leap years, days of the year, means on the circle.

use super::case::{Case, Found, Trouble};
use chrono::{Datelike, NaiveDate};
use forecast::calendar::{DayOfYear, IsoWeek, days_in_year, has_53_weeks};
use serde_json::{Map, Value, json};

pub fn iso_week(case: &Case) -> Found {
    let date: NaiveDate = case.text("date")?.parse()?;
    let week = IsoWeek::of(date);
    let (year, number) = week.year_and_week();
    let weekday = week.days().iter().position(|d| *d == date).map(|i| i + 1);
    Ok(json!({
        "iso_week_date": format!("{week}-{}", weekday.unwrap_or(0)),
        "iso_year": year,
        "iso_week": number,
        "iso_weekday": weekday,
        "day_of_year": DayOfYear::of(date).get(),
    }))
}

pub fn long_years(case: &Case) -> Found {
    let (from, to) = (case.number("from")? as i32, case.number("to")? as i32);
    Ok(json!(
        (from..=to).filter(|y| has_53_weeks(*y)).collect::<Vec<_>>()
    ))
}

fn day_of_year(year: i32, month: u32, day: u32) -> Result<u16, Trouble> {
    let date = NaiveDate::from_ymd_opt(year, month, day);
    let date = date.ok_or_else(|| Trouble::Failed(format!("no {year}-{month}-{day}")))?;
    Ok(DayOfYear::of(date).get())
}

pub fn leap(case: &Case) -> Found {
    let year = case.number("year")? as i32;
    Ok(json!({
        "leap": days_in_year(year) == 366,
        "days": days_in_year(year),
        "doy_mar1": day_of_year(year, 3, 1)?,
        "doy_dec31": day_of_year(year, 12, 31)?,
    }))
}

/// The year of each kind comes under `year_<kind>`.
pub fn first_of_month(case: &Case) -> Found {
    let years = case.inputs.as_object().into_iter().flatten();
    let mut found = Map::new();
    for (key, year) in years {
        let year = year.as_i64().ok_or("a year is no number")? as i32;
        let firsts: Result<Vec<u16>, _> = (1..=12).map(|m| day_of_year(year, m, 1)).collect();
        let kind = key.strip_prefix("year_").unwrap_or(key);
        found.insert(kind.to_owned(), json!(firsts?));
    }
    Ok(Value::Object(found))
}

pub fn circular_mean(case: &Case) -> Found {
    let angle = case.text("angle")?;
    if angle != "2*pi*doy/period" {
        return Err(Trouble::Failed(format!("unknown angle {angle}")));
    }
    let days = case.numbers("doys")?;
    let found = forecast::calendar::circular_mean(&days, case.number("period")?);
    let found = found.ok_or("no days")?;
    Ok(json!({
        "mean_doy": found.mean,
        "mean_resultant_length_R": found.resultant_length,
        "circular_sd_days": found.sd,
    }))
}

#[test]
fn weekdays_agree_with_chrono() {
    let first = NaiveDate::from_ymd_opt(1999, 12, 20).expect("a date");
    for date in first.iter_days().take(9000) {
        let monday = IsoWeek::of(date).monday();
        assert_eq!(monday.weekday(), chrono::Weekday::Mon);
        assert!((0..7).contains(&(date - monday).num_days()));
    }
}
