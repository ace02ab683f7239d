//! When to begin: from sunrise, or from a high water in daylight.

use super::PlanError;
use super::tides::{Tide, Tides};
use chrono::{DateTime, Duration, NaiveDate, NaiveTime, TimeZone, Utc};
use config::settings::{PlanSettings, Site};
use forecast::sun::{Daylight, sun};
use serde::{Deserialize, Serialize};

/// The times of a visit.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Start {
    /// Sunrise and sunset, local; None where the sun does not rise or set.
    pub sun: Option<(NaiveTime, NaiveTime)>,
    /// It stays light: the sun does not set.
    pub polar_day: bool,
    /// The high water that the start goes by.
    pub high_water: Option<Tide>,
    /// When to begin; None where neither sun nor tide tells.
    pub begin: Option<DateTime<Utc>>,
    /// The same in the site's time.
    pub begin_local: Option<NaiveTime>,
    /// When it is over.
    pub end: Option<DateTime<Utc>>,
    /// No time is told: those of the sun say where a site lies.
    #[serde(default)]
    pub untold: bool,
}

/// The start of a visit: so many minutes from the first high water after sunrise, if there is
/// one, else from sunrise.
pub fn start(
    site: &Site,
    date: NaiveDate,
    settings: &PlanSettings,
    tides: Option<&Tides>,
) -> Result<Start, PlanError> {
    let daylight = sun(date, site.latitude, site.longitude)?.daylight;
    let local = |time: DateTime<Utc>| time.with_timezone(&site.time_zone).time();
    let (risen, set) = match daylight {
        Daylight::Between { sunrise, sunset } => (Some(sunrise), Some(sunset)),
        Daylight::PolarDay | Daylight::PolarNight => (None, None),
    };
    let utc = |tide: &Tide| moment(site, tide);
    let light = |tide: &Tide| match (daylight, utc(tide)) {
        (Daylight::Between { sunrise, sunset }, Some(at)) => (sunrise..=sunset).contains(&at),
        (Daylight::PolarDay, at) => at.is_some(),
        _ => false,
    };
    let high_water = tides.and_then(|t| t.on(date).find(|t| light(t)).copied());
    let by_tide = high_water.as_ref().and_then(utc);
    let from_tide = by_tide.map(|high| high + minutes(settings.tide_minutes));
    let from_sun = risen.map(|risen| risen + minutes(settings.start_minutes));
    let begin = match (from_tide, from_sun) {
        // nobody begins before it is light on the tide's account
        (Some(tide), Some(sun)) => Some(tide.max(sun)),
        (tide, sun) => tide.or(sun),
    };
    let begin = begin.map(to_minute);
    Ok(Start {
        sun: risen
            .zip(set)
            .map(|(r, s)| (local(to_minute(r)), local(to_minute(s)))),
        polar_day: daylight == Daylight::PolarDay,
        high_water,
        begin,
        begin_local: begin.map(local),
        end: begin.map(|b| b + minutes(settings.visit_minutes as i32)),
        untold: false,
    })
}

/// A time that the clocks leave out has no moment; one that they give twice, the first.
fn moment(site: &Site, tide: &Tide) -> Option<DateTime<Utc>> {
    let local = tide.date.and_time(tide.time);
    let moment = site.time_zone.from_local_datetime(&local);
    moment.earliest().map(|m| m.with_timezone(&Utc))
}

fn minutes(n: i32) -> Duration {
    Duration::minutes(i64::from(n))
}

/// To the nearest minute: it is not known better.
fn to_minute(time: DateTime<Utc>) -> DateTime<Utc> {
    let seconds = time.timestamp() + 30;
    DateTime::from_timestamp(seconds - seconds.rem_euclid(60), 0).unwrap_or(time)
}

impl Start {
    /// Of a site that is not to be found by its sunrise.
    pub fn untold() -> Self {
        Start {
            untold: true,
            ..Start::default()
        }
    }

    /// "start 08:21"; None where no time is told.
    pub fn begin_words(&self) -> Option<String> {
        let begin = self.begin_local.filter(|_| !self.untold)?;
        Some(format!(
            "start{}{}",
            crate::words::TIE,
            begin.format("%H:%M")
        ))
    }

    /// Sun and tide in a sentence; empty where no time is told.
    pub fn words(&self) -> String {
        if self.untold {
            return String::new();
        }
        let time = |t: NaiveTime| t.format("%H:%M").to_string();
        let begin = match self.begin_local {
            Some(begin) => format!("Start {}. ", time(begin)),
            None => String::new(),
        };
        let sun = match self.sun {
            Some((rise, set)) => format!("Sunrise {}, sunset {}.", time(rise), time(set)),
            None if self.polar_day => "The sun does not set.".to_owned(),
            None => "The sun does not rise.".to_owned(),
        };
        let tide = match &self.high_water {
            Some(t) => format!(" High water {} ({}).", time(t.time), t.height),
            None => String::new(),
        };
        format!("{begin}{sun}{tide}")
    }
}
