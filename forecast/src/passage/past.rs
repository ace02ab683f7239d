//! What a passage's past seasons tell: how early or late each ran, and whether the passage's
//! dates have moved over the years.

use super::cut::Stretch;
use super::dates::Dates;
use super::own_curve::OwnCurve;
use super::timing::LOOSE_SD_DAYS;
use crate::fit::DateChanges;
use crate::season_shift::SeasonShift;
use crate::trend::flanks::{LongTerm, flanks};
use crate::trend::{Change, LongTermChange, TrendError};

/// An interval of a change that is wider than this, in days a decade, says nothing that anybody
/// could use: neither that a date has moved nor that it has not. A choice.
const WIDEST_DAYS_PER_DECADE: f64 = 20.0;

pub(super) struct Past {
    /// Of the seasons that tell their timing.
    pub(super) shifts: Vec<SeasonShift>,
    pub(super) change: DateChanges,
}

impl Past {
    /// None where the passage has no dates.
    pub(super) fn of(own: &OwnCurve, stretch: &Stretch, dates: &Dates) -> Option<Self> {
        let start = stretch.first as f64 + 1.0;
        let (arrival, median, departure) = (dates.arrival?, dates.median?, dates.departure?);
        let long_term = LongTerm::new(
            arrival.day - start,
            median.day - start,
            departure.day - start,
        )?;
        let moved = flanks(&own.curve, long_term, &own.years, &own.sightings);
        let moved = LongTermChange::of(&moved.arrival, &moved.median, &moved.departure);
        let told = own.years.iter().zip(&own.shifts).filter_map(|(year, s)| {
            SeasonShift::from_posterior(*year, s.days, s.sd_days, LOOSE_SD_DAYS)
        });
        Some(Past {
            shifts: told.collect(),
            change: DateChanges {
                // where the watch cuts a passage off, its own end isn't seen to move
                arrival: telling(moved.arrival).filter(|_| !dates.begun_before_watch),
                median: telling(moved.median),
                departure: telling(moved.departure).filter(|_| !dates.ends_after_watch),
            },
        })
    }
}

fn telling(change: Result<Change, TrendError>) -> Option<Change> {
    change
        .ok()
        .filter(|c| c.interval.1 - c.interval.0 <= WIDEST_DAYS_PER_DECADE)
}
