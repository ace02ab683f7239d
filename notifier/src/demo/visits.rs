//! When the sites were visited, for how long and by whom.

use super::random::{Purpose, happens, normal, stream};
use super::truth::{SITES, TrueSite, Truth};
use super::{DemoError, Span};
use chrono::{Datelike, Duration, NaiveDate};
use forecast::calendar::IsoWeek;
use rand::Rng;
use rand::seq::IndexedRandom;
use rand_pcg::Pcg64;

/// Those who count, by the initials in the files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Observer {
    /// Tidy.
    Warden,
    /// Genera in lower case, stray spaces, an "x" where a number should be.
    Tidewell,
    /// English names.
    Fenwick,
    /// Rounds large flocks.
    Saltmarsh,
}

impl Observer {
    pub(super) const ALL: [Observer; 4] = [
        Observer::Warden,
        Observer::Tidewell,
        Observer::Fenwick,
        Observer::Saltmarsh,
    ];

    pub(super) fn initials(self) -> &'static str {
        match self {
            Observer::Warden => "AW",
            Observer::Tidewell => "JT",
            Observer::Fenwick => "MF",
            Observer::Saltmarsh => "RS",
        }
    }
}

/// One search of a site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct DrawnVisit {
    pub site: usize,
    pub date: NaiveDate,
    pub effort_min: u32,
    pub observer: Observer,
}

/// Spread of the log of a visit's length around its median.
const EFFORT_LOG_SD: f64 = 0.25;
/// Part of the weeks in which nobody could come.
const MISSED_WEEK: f64 = 0.05;
/// Chance that a fortnight's absence begins in a week: about once in a year and a half.
const FORTNIGHT_AWAY: f64 = 0.012;
/// Chance of a visit less, and of one more, than the season's habit.
const ONE_LESS_OR_MORE: f64 = 0.2;
/// A weekend day is this much likelier than a weekday.
const WEEKEND: f64 = 2.5;

/// Draws all visits in order of date, then site.
pub(super) fn draw(truth: &Truth, seed: u64, span: Span) -> Result<Vec<DrawnVisit>, DemoError> {
    let mut visits = Vec::new();
    for site in 0..SITES {
        let dates = dates(&mut stream(seed, Purpose::VisitDates(site)), span)?;
        let mut rng = stream(seed, Purpose::Searches(site));
        for date in dates {
            visits.push(DrawnVisit {
                site,
                date,
                effort_min: effort_min(&mut rng, truth, &truth.sites[site], date),
                observer: Observer::ALL[rng.random_range(0..Observer::ALL.len())],
            });
        }
    }
    visits.sort_by_key(|v| (v.date, v.site));
    Ok(visits)
}

fn dates(rng: &mut Pcg64, span: Span) -> Result<Vec<NaiveDate>, DemoError> {
    let mut dates = Vec::new();
    let mut away_weeks = 0;
    let mut monday = IsoWeek::of(span.first).monday();
    while monday <= span.last {
        if away_weeks == 0 && happens(rng, FORTNIGHT_AWAY) {
            away_weeks = 2;
        }
        let missed = happens(rng, MISSED_WEEK) || away_weeks > 0;
        away_weeks -= i32::from(away_weeks > 0);
        let days = days_of_week(rng, monday)?;
        dates.extend(
            days.into_iter()
                .filter(|d| !missed && (span.first..=span.last).contains(d)),
        );
        monday += Duration::days(7);
    }
    Ok(dates)
}

fn days_of_week(rng: &mut Pcg64, monday: NaiveDate) -> Result<Vec<NaiveDate>, DemoError> {
    let less = usize::from(happens(rng, ONE_LESS_OR_MORE));
    let more = usize::from(happens(rng, ONE_LESS_OR_MORE));
    let wanted = usual_visits(monday) + more - less;
    let days = IsoWeek::of(monday).days();
    let weight = |d: &NaiveDate| {
        if d.weekday().num_days_from_monday() > 4 {
            WEEKEND
        } else {
            1.0
        }
    };
    let mut chosen: Vec<NaiveDate> = days
        .choose_multiple_weighted(rng, wanted, weight)
        .map_err(|e| DemoError::Draw(e.to_string()))?
        .copied()
        .collect();
    chosen.sort_unstable();
    Ok(chosen)
}

/// The season's habit: three visits a week at the height of the passages, two in the rest of
/// the season, one in winter.
fn usual_visits(monday: NaiveDate) -> usize {
    match (monday.month(), monday.day()) {
        (5 | 9, _) | (4, 10..) | (8, 10..) | (10, ..=15) => 3,
        (3 | 4 | 6 | 7 | 8 | 10, _) | (11, ..=15) => 2,
        _ => 1,
    }
}

/// Minutes, to the nearest five as people write them; longer visits as the decades go.
fn effort_min(rng: &mut Pcg64, truth: &Truth, site: &TrueSite, date: NaiveDate) -> u32 {
    let growth = site.effort_growth * 10.0 * truth.decades(date);
    let minutes = site.effort_min * (growth + EFFORT_LOG_SD * normal(rng)).exp();
    5 * (minutes / 5.0).round() as u32
}
