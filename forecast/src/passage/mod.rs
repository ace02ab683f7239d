//! Passages: the year curve cut at its troughs, and the dates of each part.

pub(crate) mod best_level;
pub mod curve;
pub mod cut;
pub mod dates;
pub mod level;
pub mod name;
pub(crate) mod own_curve;
mod past;
pub mod predictive;
pub mod season;
pub mod timing;

use crate::calendar::{DAYS, DayOfYear};
use crate::extremes::few_records;
use crate::fit::{DateEstimate, Passage, PassageName, SpeciesFit, Verdict};
use crate::series::{Count, CountSeries, Visit};
use crate::watched::Watched;
use crate::year_curve::basis::BasisError;
use crate::year_curve::newton::FitError;
use crate::year_curve::{self, Fitted, ValidParams, YearCurveError};
use chrono::NaiveDate;
use curve::Sighting;
use cut::{Evidence, Grounds, Stretch};
use dates::Course;
use name::Hemisphere;
use own_curve::OwnCurve;
use past::Past;
use std::collections::BTreeSet;

/// Fewer birds than this give no curve. A choice: below it dates are anybody's guess.
pub const LEAST_BIRDS: u64 = 20;
/// Fewer seasons than this give no curve. A choice.
pub const LEAST_SEASONS: usize = 5;
/// Curves drawn for the intervals of long-term dates: their 10 % and 90 % points are then known
/// to about a tenth of the interval's width.
pub const DRAWS: usize = 400;

/// The year, uncut.
const ALL_YEAR: Stretch = Stretch {
    first: 0,
    length: DAYS,
    after_gap: false,
    before_gap: false,
};

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
    let evidence = Evidence::of(series);
    let grounds = Grounds {
        posterior: &fitted.posterior,
        evidence: &evidence,
    };
    let stretches = cut::cut(grounds, setting.watched, setting.cuts);
    if stretches.is_empty() {
        let mut whole = uncut(series, setting, Verdict::AllYear);
        whole.passages[0].peak = on_year_curve(&fitted, &ALL_YEAR, setting).dates().peak;
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

/// What to tell of a curve that could not be had though there were birds enough.
fn failure(error: &YearCurveError) -> Option<String> {
    match error {
        YearCurveError::Fit(FitError::NoBirds) => None,
        YearCurveError::Basis(BasisError::TooFewPositions { positions, .. }) => {
            // the two ends of the year are counted among the positions
            let days = positions.saturating_sub(2);
            Some(format!(
                "the visits fall on {days} different days of the year, too few for a curve"
            ))
        }
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
        shifts: Vec::new(),
        change: None,
        temperature: None,
        records: match verdict {
            Verdict::TooFew => few_records(series, &ALL_YEAR),
            _ => Vec::new(),
        },
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
    let (birds, seasons) = tally(series, stretch, |_| true);
    if birds == 0 {
        return None;
    }
    let enough = birds >= LEAST_BIRDS && seasons >= LEAST_SEASONS;
    // a passage has a finer curve of its own; where that cannot be had the year curve serves
    let own = if enough {
        OwnCurve::fit(series, stretch)
    } else {
        None
    };
    let found = match &own {
        Some(own) => own.course(stretch, setting).dates(),
        None => on_year_curve(fitted, stretch, setting).dates(),
    };
    let past = own.as_ref().and_then(|own| Past::of(own, stretch, &found));
    // a stretch may begin in the year before its passage does
    let back = match found.arrival {
        Some(arrival) if arrival.day >= DAYS as f64 + 0.5 => DAYS as f64,
        _ => 0.0,
    };
    let keep = |d: Option<DateEstimate>| {
        if enough {
            d.map(|d| d.moved(-back))
        } else {
            None
        }
    };
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
        shifts: past.as_ref().map_or_else(Vec::new, |p| p.shifts.clone()),
        change: past.map(|p| p.change),
        temperature: None,
        records: if enough {
            Vec::new()
        } else {
            few_records(series, stretch)
        },
    })
}

fn on_year_curve<'a>(fitted: &'a Fitted, stretch: &Stretch, setting: &Setting) -> Course<'a> {
    let rows: Vec<usize> = stretch.indices().collect();
    Course {
        posterior: &fitted.posterior,
        watched: rows.iter().map(|i| setting.watched.days()[*i]).collect(),
        rows,
        start: stretch.first as f64 + 1.0,
        gaps: (stretch.after_gap, stretch.before_gap),
        any_year: None,
        seed: setting.seed,
    }
}

/// The visits of a stretch that tell something and whose date is wanted, with the years in which
/// their seasons began.
pub fn sightings(
    series: &CountSeries,
    stretch: &Stretch,
    wanted: impl Fn(NaiveDate) -> bool,
) -> (Vec<i32>, Vec<Sighting>) {
    let inside = || {
        series
            .known()
            .filter(|(v, _)| wanted(v.date) && stretch.holds(v.day().index()))
    };
    let mut years: Vec<i32> = inside().map(|(v, _)| stretch.season_year(v.date)).collect();
    years.sort_unstable();
    years.dedup();
    let sighting = |(v, count): (&Visit, Count)| Sighting {
        offset: stretch.offset(v.day().index()),
        season: years.partition_point(|y| *y < stretch.season_year(v.date)),
        log_effort: v.log_effort_ratio,
        count,
    };
    let sightings = inside().map(sighting).collect();
    (years, sightings)
}

/// Birds in the stretch and the season-years, named by their first day, that had any; of the
/// seasons that are wanted.
pub(crate) fn tally(
    series: &CountSeries,
    stretch: &Stretch,
    wanted: impl Fn(i32) -> bool,
) -> (u64, usize) {
    let mut birds = 0;
    let mut seasons = BTreeSet::new();
    for (visit, count) in series.known().filter(|(_, c)| c.birds() > 0) {
        let (day, year) = (visit.day().index(), stretch.season_year(visit.date));
        if !stretch.holds(day) || !wanted(year) {
            continue;
        }
        birds += u64::from(count.birds());
        seasons.insert(year);
    }
    (birds, seasons.len())
}
