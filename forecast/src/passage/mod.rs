//! Passages: the year curve cut at its troughs, and the dates of each part.

pub mod curve;
pub mod cut;
pub mod dates;
pub mod level;
pub mod name;
pub mod predictive;
pub mod season;

use crate::calendar::{DAYS, DayOfYear};
use crate::fit::{Passage, PassageName, SpeciesFit, Verdict};
use crate::series::CountSeries;
use crate::watched::Watched;
use crate::year_curve::newton::FitError;
use crate::year_curve::{self, Fitted, ValidParams, YearCurveError};
use chrono::{Datelike, Duration};
use cut::Stretch;
use name::Hemisphere;
use std::collections::BTreeSet;

/// Fewer birds than this give no curve. A choice: below it dates are anybody's guess.
pub const LEAST_BIRDS: u64 = 20;
/// Fewer seasons than this give no curve. A choice.
pub const LEAST_SEASONS: usize = 5;
/// Curves drawn for the intervals of long-term dates: their 10 % and 90 % points are then known
/// to about a tenth of the interval's width.
pub const DRAWS: usize = 400;

/// What a fit needs to know beside the counts.
#[derive(Debug, Clone)]
pub struct Setting<'a> {
    /// The curve's settings.
    pub params: &'a ValidParams,
    /// Days on which the site is watched.
    pub watched: &'a Watched,
    /// Where the site lies.
    pub hemisphere: Hemisphere,
    /// First days of passages, where the user cuts the year; empty to cut at the troughs.
    pub cuts: &'a [DayOfYear],
    /// Seed of the draws behind the intervals.
    pub seed: u64,
}

/// Fits the year curve of one species at one site and cuts it into passages.
pub fn fit(series: &CountSeries, setting: &Setting) -> SpeciesFit {
    let (birds, seasons) = (series.birds(), series.years_found());
    if birds < LEAST_BIRDS || seasons < LEAST_SEASONS {
        return uncut(series, setting, Verdict::TooFew);
    }
    let fitted = match year_curve::fit(series, setting.params) {
        Ok(fitted) => fitted,
        Err(error) => {
            return SpeciesFit {
                failure: failure(&error),
                ..uncut(series, setting, Verdict::TooFew)
            };
        }
    };
    if fitted.curve.is_flat() && setting.cuts.is_empty() {
        return SpeciesFit {
            curve: Some(fitted.curve),
            ..uncut(series, setting, Verdict::NoSeason)
        };
    }
    let stretches = cut::cut(&fitted.posterior, setting.watched, setting.cuts);
    if stretches.is_empty() {
        let mut whole = uncut(series, setting, Verdict::AllYear);
        let year = Stretch {
            first: 0,
            length: DAYS,
            after_gap: false,
            before_gap: false,
        };
        whole.passages[0].peak = dates::dates(&fitted.posterior, &year, setting).peak;
        return SpeciesFit {
            curve: Some(fitted.curve),
            ..whole
        };
    }
    let passages = stretches
        .iter()
        .filter_map(|s| passage(series, &fitted, s, setting))
        .collect();
    SpeciesFit {
        verdict: Verdict::Curve,
        birds,
        seasons,
        curve: Some(fitted.curve),
        passages,
        failure: None,
    }
}

/// Too few days to place the knots on is a shortage of records; anything else is a failure.
fn failure(error: &YearCurveError) -> Option<String> {
    match error {
        YearCurveError::Basis(_) | YearCurveError::Fit(FitError::NoBirds) => None,
        other => Some(other.to_string()),
    }
}

/// A fit with one passage that spans the year and has no dates.
fn uncut(series: &CountSeries, setting: &Setting, verdict: Verdict) -> SpeciesFit {
    let (birds, seasons) = (series.birds(), series.years_found());
    let passage = Passage {
        name: PassageName::AllYear,
        verdict,
        birds,
        seasons,
        watched_days: setting.watched.total(),
        stretch: (1, DAYS as u16),
        arrival: None,
        first_quarter: None,
        median: None,
        third_quarter: None,
        peak: None,
        departure: None,
        begun_before_watch: false,
        ends_after_watch: false,
    };
    SpeciesFit {
        verdict,
        birds,
        seasons,
        curve: None,
        passages: vec![passage],
        failure: None,
    }
}

/// One part of the year; None where not a bird was counted in it.
fn passage(
    series: &CountSeries,
    fitted: &Fitted,
    stretch: &Stretch,
    setting: &Setting,
) -> Option<Passage> {
    let (birds, seasons) = tally(series, stretch);
    if birds == 0 {
        return None;
    }
    let found = dates::dates(&fitted.posterior, stretch, setting);
    let enough = birds >= LEAST_BIRDS && seasons >= LEAST_SEASONS;
    let keep = |d| if enough { d } else { None };
    Some(Passage {
        name: name::name(&found, setting.hemisphere),
        verdict: if enough {
            Verdict::Curve
        } else {
            Verdict::TooFew
        },
        birds,
        seasons,
        watched_days: stretch
            .indices()
            .filter(|i| setting.watched.days()[*i])
            .count(),
        stretch: (
            stretch.first as u16 + 1,
            ((stretch.first + stretch.length - 1) % DAYS) as u16 + 1,
        ),
        arrival: keep(found.arrival),
        first_quarter: keep(found.first_quarter),
        median: keep(found.median),
        third_quarter: keep(found.third_quarter),
        peak: keep(found.peak),
        departure: keep(found.departure),
        begun_before_watch: found.begun_before_watch,
        ends_after_watch: found.ends_after_watch,
    })
}

/// Birds in the stretch and the season-years, named by their first day, that had any.
fn tally(series: &CountSeries, stretch: &Stretch) -> (u64, usize) {
    let mut birds = 0;
    let mut seasons = BTreeSet::new();
    for (visit, count) in series.known().filter(|(_, c)| c.birds() > 0) {
        let day = visit.day().index();
        if !stretch.holds(day) {
            continue;
        }
        birds += u64::from(count.birds());
        // days after New Year belong to the season that began before it
        let first_day = visit.date - Duration::days(stretch.offset(day) as i64);
        seasons.insert(first_day.year());
    }
    (birds, seasons.len())
}
