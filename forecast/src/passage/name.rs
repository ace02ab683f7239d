//! The season that a passage belongs to.

use super::dates::Dates;
use crate::calendar::DAYS;
use crate::fit::{DateEstimate, PassageName};

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
/// 1 February, or has its median between them; *summer* is there from before 1 June until after
/// 15 July; of the rest *spring* has its median before 21 June and *autumn* after it. A stay is
/// named so only if the middle half of its birds reaches into those days: a peak on the way
/// through is no stay, though a few birds remain. A choice of ours: trade usage names no days
/// (common practice, no source).
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
    let quarter = |date: Option<DateEstimate>| date.map_or(median_north, |d| d.day + turn);
    let (early, late) = (quarter(dates.first_quarter), quarter(dates.third_quarter));
    let spans = |from: f64, to: f64| {
        [-year, 0.0, year]
            .iter()
            .any(|k| arrival + k < from && departure + k > to && early + k < to && late + k > from)
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

#[cfg(test)]
mod tests {
    use super::*;

    fn dates(days: [f64; 5]) -> Dates {
        let at = |day| {
            Some(DateEstimate {
                day,
                known: (day, day),
                any_year: None,
            })
        };
        Dates {
            arrival: at(days[0]),
            first_quarter: at(days[1]),
            median: at(days[2]),
            third_quarter: at(days[3]),
            departure: at(days[4]),
            ..Dates::default()
        }
    }

    #[test]
    fn a_peak_on_the_way_through_is_no_stay_though_a_few_remain() {
        let named = |days| name(&dates(days), Hemisphere::North);
        // a resident that passes in numbers about the end of March
        assert_eq!(named([59.0, 83.0, 97.0, 130.0, 205.0]), PassageName::Spring);
        // a breeding tern
        assert_eq!(
            named([117.0, 145.0, 180.0, 212.0, 241.0]),
            PassageName::Summer
        );
        // an autumn passage of which some stay into February, and a bunting that winters
        assert_eq!(
            named([245.0, 262.0, 272.0, 290.0, 400.0]),
            PassageName::Autumn
        );
        assert_eq!(
            named([318.0, 350.0, 373.0, 395.0, 428.0]),
            PassageName::Winter
        );
        // the same half a year away
        let south = |days| name(&dates(days), Hemisphere::South);
        assert_eq!(
            south([242.0, 266.0, 280.0, 313.0, 388.0]),
            PassageName::Spring
        );
        assert_eq!(
            south([300.0, 328.0, 363.0, 395.0, 424.0]),
            PassageName::Summer
        );
    }
}
