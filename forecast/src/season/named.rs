//! Seasons by the year that people call them by.

use crate::calendar::{DAYS, DayOfYear};
use crate::fit::{DateChanges, Passage};
use crate::passage::cut::Stretch;
use chrono::NaiveDate;

/// The stretch of the year that a passage was cut from.
pub fn stretch_of(passage: &Passage) -> Stretch {
    let (first, last) = (
        usize::from(passage.stretch.0),
        usize::from(passage.stretch.1),
    );
    Stretch {
        first: first - 1,
        length: (last + DAYS - first) % DAYS + 1,
        after_gap: false,
        before_gap: false,
    }
}

/// Years from that in which the stretch begins to that of the arrival, which is what people call
/// the season by: a stretch may begin in the autumn before a spring passage.
fn later(passage: &Passage) -> i32 {
    let before = |arrival: f64| arrival + 0.5 < f64::from(passage.stretch.0);
    i32::from(passage.arrival.is_some_and(|a| before(a.day)))
}

/// What people call the season whose stretch begins in `season`.
pub fn called(passage: &Passage, season: i32) -> i32 {
    season + later(passage)
}

/// The year in which the stretch of the season begins that people call by `year`.
pub fn begun(passage: &Passage, year: i32) -> i32 {
    year - later(passage)
}

/// How a passage's dates have moved, the first and last year being what people call the seasons by.
pub fn change_called(passage: &Passage) -> Option<DateChanges> {
    let mut change = passage.change.clone()?;
    let dates = [
        &mut change.arrival,
        &mut change.median,
        &mut change.departure,
    ];
    for date in dates.into_iter().flatten() {
        let (first, last) = date.years;
        date.years = (called(passage, first), called(passage, last));
    }
    Some(change)
}

/// The day that lies so many days of the circle of the year after the first of a season.
fn date_at(stretch: &Stretch, season: i32, offset: usize) -> NaiveDate {
    let place = stretch.first + offset;
    let year = season + (place / DAYS) as i32;
    let day = DayOfYear::try_from((place % DAYS) as u16 + 1);
    let date = day.ok().and_then(|d| d.in_year(year));
    date.unwrap_or(NaiveDate::MAX)
}

/// First day of the season of a stretch that begins in the year.
pub fn first_day(stretch: &Stretch, season: i32) -> NaiveDate {
    date_at(stretch, season, 0)
}

/// Last day of it.
pub fn last_day(stretch: &Stretch, season: i32) -> NaiveDate {
    date_at(stretch, season, stretch.length.max(1) - 1)
}

/// First and last day of a season on which birds of the passage may be about: the 80 % intervals
/// of where arrival and departure fall in any one year. None of a passage without dates.
pub fn about(passage: &Passage, season: i32) -> Option<(NaiveDate, NaiveDate)> {
    let (arrival, departure) = (passage.arrival?, passage.departure?);
    let stretch = stretch_of(passage);
    let after = (arrival.day - f64::from(passage.stretch.0) + 0.5).rem_euclid(DAYS as f64) - 0.5;
    let early = arrival.day - arrival.any_year.unwrap_or(arrival.known).0;
    let late = departure.any_year.unwrap_or(departure.known).1 - arrival.day;
    let day = |offset: f64| {
        let inside = offset.round().clamp(0.0, stretch.length as f64 - 1.0);
        date_at(&stretch, season, inside as usize)
    };
    Some((day(after - early), day(after + late)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::{DateEstimate, PassageName, Verdict};
    use crate::trend::{Change, Moved};

    fn passage(stretch: (u16, u16), arrival: f64, departure: f64) -> Passage {
        let at = |day: f64| {
            Some(DateEstimate {
                day,
                known: (day - 1.0, day + 1.0),
                any_year: Some((day - 5.0, day + 5.0)),
            })
        };
        Passage {
            name: PassageName::Spring,
            verdict: Verdict::Curve,
            birds: 100,
            seasons: 10,
            watched_days: 100,
            stretch,
            arrival: at(arrival),
            first_quarter: None,
            median: at(0.5 * (arrival + departure)),
            third_quarter: None,
            peak: None,
            departure: at(departure),
            begun_before_watch: false,
            ends_after_watch: false,
            shifts: Vec::new(),
            change: None,
            temperature: None,
            records: Vec::new(),
        }
    }

    fn date(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).unwrap()
    }

    #[test]
    fn a_spring_passage_is_called_by_the_year_of_its_arrival() {
        // cut on 6 December and on 19 June, arriving on 11 April
        let spring = passage((340, 170), 101.0, 140.0);
        assert_eq!((called(&spring, 2009), begun(&spring, 2010)), (2010, 2009));
        let (first, last) = about(&spring, 2009).unwrap();
        assert_eq!((first, last), (date(2010, 4, 6), date(2010, 5, 25)));
    }

    #[test]
    fn a_change_is_told_by_the_years_that_people_call_the_seasons_by() {
        let change = Change {
            days_per_decade: -2.0,
            interval: (-3.0, -1.0),
            moved: Moved::Earlier,
            of_pairs: -2.0,
            carry_over: 0.0,
            seasons: 12,
            years: (1999, 2010),
        };
        let moved = |stretch| {
            let passage = Passage {
                change: Some(DateChanges {
                    arrival: None,
                    median: Some(change.clone()),
                    departure: None,
                }),
                ..passage(stretch, 101.0, 140.0)
            };
            change_called(&passage).unwrap().median.unwrap().years
        };
        assert_eq!(moved((340, 170)), (2000, 2011));
        assert_eq!(moved((20, 170)), (1999, 2010));
    }

    #[test]
    fn a_stay_over_winter_is_called_by_the_year_in_which_it_begins() {
        let winter = passage((200, 120), 290.0, 440.0);
        assert_eq!(called(&winter, 2009), 2009);
        let (first, last) = about(&winter, 2009).unwrap();
        assert_eq!(first, date(2009, 10, 12));
        assert_eq!(last, date(2010, 3, 20));
    }

    #[test]
    fn what_is_about_ends_with_the_stretch() {
        let cut_off = passage((60, 150), 62.0, 149.0);
        let about = about(&cut_off, 2011).unwrap();
        assert_eq!(about, (date(2011, 3, 1), date(2011, 5, 30)));
    }
}
