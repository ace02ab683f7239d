//! When the sun rises and sets.

use chrono::{DateTime, Duration, NaiveDate, Utc};
use serde::Serialize;
use solar_positioning::{Horizon, Location, SolarEvents, SolarPositions, delta_t};
use std::f64::consts::PI;

/// The sun on a date at a place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sun {
    /// When it stands in the south, north of the tropics.
    pub noon: DateTime<Utc>,
    /// Degrees north of the equator, at noon.
    pub declination_deg: f64,
    /// Between which times it is up.
    pub daylight: Daylight,
}

/// Between which times the sun is up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Daylight {
    /// It rises before noon and sets after it. Its upper edge counts, with the usual refraction:
    /// the centre stands 0.833 degrees below the horizon, and no hill is in the way.
    Between {
        /// Sunrise.
        sunrise: DateTime<Utc>,
        /// Sunset.
        sunset: DateTime<Utc>,
    },
    /// It does not set.
    PolarDay,
    /// It does not rise.
    PolarNight,
}

/// A place or date that the sun's course is not worked out for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error(
    "no sunrise can be worked out for {date} at latitude {latitude}, longitude {longitude}: {why}"
)]
pub struct NoSun {
    /// The date.
    pub date: NaiveDate,
    /// Degrees north.
    pub latitude: f64,
    /// Degrees east.
    pub longitude: f64,
    /// What is wrong.
    pub why: String,
}

/// The sun about the noon of a local date: its passage of the meridian nearest to mean noon, the
/// rise before and the set after. Times are good to some seconds; refraction near the horizon,
/// which changes with the weather, makes that a minute or two. From 65 degrees on more.
pub fn sun(date: NaiveDate, latitude: f64, longitude: f64) -> Result<Sun, NoSun> {
    events(date, latitude, longitude).map_err(|why| NoSun {
        date,
        latitude,
        longitude,
        why,
    })
}

fn events(date: NaiveDate, latitude: f64, longitude: f64) -> Result<Sun, String> {
    let sky = Sky {
        place: Location {
            latitude,
            longitude,
        },
        delta_t: delta_t::estimate_from_date_like(&date).map_err(words)?,
    };
    let noon = sky.noon(date)?;
    let at_noon = SolarPositions::new()
        .for_time(&noon, sky.delta_t)
        .map_err(words)?;
    let height = at_noon.at(sky.place, 0.0, None).map_err(words)?;
    Ok(Sun {
        noon,
        declination_deg: at_noon.declination(),
        daylight: sky.daylight(noon, height.elevation_angle())?,
    })
}

fn words(error: solar_positioning::Error) -> String {
    error.to_string()
}

/// The sky over a place, with the seconds that the earth's turning is late by.
struct Sky {
    place: Location,
    delta_t: f64,
}

impl Sky {
    /// The sun's passage of the meridian nearest to mean noon.
    fn noon(&self, date: NaiveDate) -> Result<DateTime<Utc>, String> {
        let longitude = self.place.longitude;
        let mean_noon = date.and_hms_opt(12, 0, 0).ok_or("no such noon")?.and_utc()
            - Duration::milliseconds((longitude * 240_000.0) as i64);
        // the sun is never more than 17 minutes off its mean
        let (early, late) = (
            mean_noon - Duration::hours(1),
            mean_noon + Duration::hours(1),
        );
        let noon = SolarEvents::new().next_transit(&early, &late, longitude, self.delta_t);
        let noon = noon.map_err(words)?;
        Ok(noon.ok_or("the sun does not pass the meridian")?)
    }

    /// Between the rise before and the set after a noon, at which it stands so high.
    fn daylight(&self, noon: DateTime<Utc>, height: f64) -> Result<Daylight, String> {
        let half = Duration::hours(12);
        let (events, horizon) = (SolarEvents::new(), Horizon::SunriseSunset);
        let (before, after) = (noon - half, noon + half);
        let sunrise = events
            .next_rise(&before, &noon, self.place, self.delta_t, horizon)
            .map_err(words)?;
        let sunset = events
            .next_set(&noon, &after, self.place, self.delta_t, horizon)
            .map_err(words)?;
        Ok(match (sunrise, sunset) {
            (Some(sunrise), Some(sunset)) => Daylight::Between { sunrise, sunset },
            // on the first or last day of a polar day it may rise and not set: it is up at noon
            _ if height > horizon.elevation_angle() => Daylight::PolarDay,
            _ => Daylight::PolarNight,
        })
    }
}

/// Hours of daylight by the CBM model, quick and good to a few minutes below 60 degrees; `p_deg`
/// is how far below the horizon the sun's centre counts as risen (Forsythe, Rykiel, Stahl, Wu &
/// Schoolfield 1995, Ecological Modelling 80:87-95).
pub fn day_length_hours(latitude: f64, day_of_year: f64, p_deg: f64) -> f64 {
    let revolution = 0.2163108 + 2.0 * (0.9671396 * (0.00860 * (day_of_year - 186.0)).tan()).atan();
    let declination = (0.39795 * revolution.cos()).asin();
    let latitude = latitude.to_radians();
    let above = p_deg.to_radians().sin() + latitude.sin() * declination.sin();
    let cosine = above / (latitude.cos() * declination.cos());
    // beyond 1 the sun does not set, beyond -1 it does not rise
    24.0 - 24.0 / PI * cosine.clamp(-1.0, 1.0).acos()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, month, day).expect("a date")
    }

    #[test]
    fn a_place_off_the_globe_is_refused() {
        let error = sun(date(5, 1), 95.0, 0.0).expect_err("no such latitude");
        assert!(error.to_string().contains("latitude 95"), "{error}");
        assert!(sun(date(5, 1), 50.0, 400.0).is_err());
    }

    #[test]
    fn the_quick_day_length_follows_the_sun() {
        for latitude in [-45.0, 0.0, 30.0, 58.0] {
            for month in 1..=12 {
                let on = date(month, 15);
                let Daylight::Between { sunrise, sunset } =
                    sun(on, latitude, 10.0).expect("a place").daylight
                else {
                    panic!("the sun rises at {latitude} on {on}");
                };
                let hours = (sunset - sunrise).num_seconds() as f64 / 3600.0;
                let day = f64::from(crate::calendar::DayOfYear::of(on).get());
                let quick = day_length_hours(latitude, day, 0.8333);
                // Forsythe et al. tell of errors within a few minutes at such latitudes
                assert!(
                    (hours - quick).abs() < 0.15,
                    "{latitude} {on}: {hours} {quick}"
                );
            }
        }
    }
}
