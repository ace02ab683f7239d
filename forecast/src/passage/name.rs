//! The season that a passage belongs to.

use super::dates::Dates;
use crate::calendar::DAYS;
use crate::fit::PassageName;

/// Half of the Earth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hemisphere {
    /// Latitude 0 or more.
    North,
    /// Latitude below 0: seasons are half a year away.
    South,
}

impl Hemisphere {
    /// Of a latitude in degrees north.
    pub fn of_latitude(latitude: f64) -> Self {
        if latitude < 0.0 {
            Hemisphere::South
        } else {
            Hemisphere::North
        }
    }
}

/// Days of the year in the north (a common year).
const FIRST_OF_FEBRUARY: f64 = 32.0;
const FIRST_OF_JUNE: f64 = 152.0;
const MIDSUMMER: f64 = 172.0;
const MID_JULY: f64 = 196.0;
const FIRST_OF_DECEMBER: f64 = 335.0;

/// Names the passage. Seen from the north: *winter* is there from before 1 December until after
/// 1 February, or has its median between them; *summer* from before 1 June until after 15 July;
/// of the rest *spring* has its median before 21 June and *autumn* after it. A choice of ours:
/// trade usage names no days (common practice, no source).
pub fn name(dates: &Dates, hemisphere: Hemisphere) -> PassageName {
    let (Some(arrival), Some(median), Some(departure)) =
        (dates.arrival, dates.median, dates.departure)
    else {
        return PassageName::AllYear;
    };
    let year = DAYS as f64;
    let half = if hemisphere == Hemisphere::South {
        year / 2.0
    } else {
        0.0
    };
    let median_north = (median.day + half - 0.5).rem_euclid(year) + 0.5;
    let turn = median_north - median.day;
    let (arrival, departure) = (arrival.day + turn, departure.day + turn);
    let spans = |from: f64, to: f64| {
        [-year, 0.0, year]
            .iter()
            .any(|k| arrival + k < from && departure + k > to)
    };
    let midwinter = !(FIRST_OF_FEBRUARY..FIRST_OF_DECEMBER).contains(&median_north);
    if spans(FIRST_OF_DECEMBER, FIRST_OF_FEBRUARY + year) || midwinter {
        PassageName::Winter
    } else if spans(FIRST_OF_JUNE, MID_JULY) {
        PassageName::Summer
    } else if median_north < MIDSUMMER {
        PassageName::Spring
    } else {
        PassageName::Autumn
    }
}
