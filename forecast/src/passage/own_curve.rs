//! The finer curve of one passage, and when each of its seasons ran.

use super::curve::{self, PassageCurve, Sighting};
use super::cut::Stretch;
use super::dates::{AnyYear, Course};
use super::timing::{self, Shift};
use super::{Setting, sightings};
use crate::series::CountSeries;
use crate::year_curve::posterior::Posterior;

/// A passage's own curve, its seasons lined up by their timing.
#[derive(Debug)]
pub(crate) struct OwnCurve {
    pub(crate) curve: PassageCurve,
    /// The years in which its seasons began.
    pub(crate) years: Vec<i32>,
    pub(crate) sightings: Vec<Sighting>,
    /// How late each season ran.
    pub(crate) shifts: Vec<Shift>,
    posterior: Posterior,
    pub(crate) any_year: AnyYear,
}

impl OwnCurve {
    pub(super) fn fit(series: &CountSeries, stretch: &Stretch) -> Option<Self> {
        Self::of_seasons(series, stretch, |_| true)
    }

    /// From the seasons whose first years are wanted.
    pub(crate) fn of_seasons(
        series: &CountSeries,
        stretch: &Stretch,
        wanted: impl Fn(i32) -> bool,
    ) -> Option<Self> {
        let (years, sightings) =
            sightings(series, stretch, |date| wanted(stretch.season_year(date)));
        // the first fit mixes early and late seasons, which widens the curve; the second has
        // them lined up
        let mixed = curve::fit(stretch.length, &vec![0.0; years.len()], &sightings).ok()?;
        let shifts = timing::shifts(&mixed, years.len(), &sightings);
        let lined_up = timing::drawn_in(&shifts, timing::spread_days(&shifts));
        let own = curve::fit(stretch.length, &lined_up, &sightings).ok()?;
        let shifts = timing::shifts(&own, years.len(), &sightings);
        let mut visits = vec![0.0; stretch.length];
        sightings
            .iter()
            .for_each(|s| visits[s.offset] += 1.0 / years.len() as f64);
        let spread_days = timing::spread_days(&shifts);
        let mean_shift_variance = timing::mean_shift_variance(&shifts, spread_days);
        let any_year = AnyYear {
            spread_days,
            mean_shift_variance,
            dispersion: own.dispersion,
            visits,
            seasons: years.len(),
        };
        Some(OwnCurve {
            posterior: own.posterior(),
            any_year,
            curve: own,
            years,
            sightings,
            shifts,
        })
    }

    pub(super) fn course(&self, stretch: &Stretch, setting: &Setting) -> Course<'_> {
        Course {
            posterior: &self.posterior,
            rows: (0..stretch.length).collect(),
            watched: stretch
                .indices()
                .map(|i| setting.watched.days()[i])
                .collect(),
            start: stretch.first as f64 + 1.0,
            gaps: (stretch.after_gap, stretch.before_gap),
            any_year: Some(self.any_year.clone()),
            seed: setting.seed,
        }
    }
}
