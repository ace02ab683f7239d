//! Topic 03: sunrise, sunset, day length.

use super::case::{Case, Found, Trouble};
use chrono::{DateTime, Duration, NaiveDate, SecondsFormat, Utc};
use chrono_tz::Tz;
use forecast::sun::{Daylight, day_length_hours, sun};
use serde_json::{Value, json};

pub fn events(case: &Case) -> Found {
    let date: NaiveDate = case.text("date")?.parse()?;
    let zone: Tz = case.text("tz")?.parse()?;
    let longitude = case.number("lon")?;
    let sun = sun(date, case.number("lat")?, longitude)?;
    let mean_noon = date.and_hms_opt(12, 0, 0).ok_or("no noon")?.and_utc()
        - Duration::milliseconds((longitude * 240_000.0) as i64);
    let mut found = json!({
        "solar_noon_utc": utc(sun.noon),
        "declination_deg": sun.declination_deg,
        "equation_of_time_min": minutes(mean_noon - sun.noon),
    });
    match sun.daylight {
        Daylight::PolarDay => found["event"] = json!("polar_day"),
        Daylight::PolarNight => found["event"] = json!("polar_night"),
        Daylight::Between { sunrise, sunset } => {
            for (name, time) in [("sunrise", sunrise), ("sunset", sunset)] {
                let local = time.with_timezone(&zone).format("%Y-%m-%dT%H:%M:%S%z");
                found[format!("{name}_utc")] = utc(time);
                found[format!("{name}_local")] = json!(local.to_string());
            }
            found["day_length_min"] = json!(minutes(sunset - sunrise));
        }
    }
    Ok(found)
}

fn utc(time: DateTime<Utc>) -> Value {
    json!(time.to_rfc3339_opts(SecondsFormat::Secs, true))
}

fn minutes(length: Duration) -> f64 {
    length.num_milliseconds() as f64 / 60_000.0
}

pub fn day_length(case: &Case) -> Found {
    if !case.id.contains("forsythe_cbm") {
        return Err(Trouble::Failed(format!("{}: unknown model", case.id)));
    }
    let [latitude, day, p] = ["lat", "doy", "p"].map(|key| case.number(key));
    Ok(json!(day_length_hours(latitude?, day?, p?)))
}
