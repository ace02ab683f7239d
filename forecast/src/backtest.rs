//! Rolling-origin backtest: every Monday of the migration, forecasts for the next four weeks
//! from what was known on that day, beside the two climatologies that a careful person could
//! work out by hand.

use crate::calendar::DayOfYear;
use crate::climatology::{Climate, Climatology, LAST_YEARS};
use crate::outlook::{Constants, Issued, Night, SiteCounts, train};
use crate::series::Count;
use chrono::{Datelike, Duration, NaiveDate, Weekday};

/// What is forecast and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Only so many preceding years are learnt from, ours and the hand climatology alike.
    pub history: Option<i32>,
    /// A species is forecast in a year where the site had so many birds before it.
    pub least_birds: u64,
    /// Stretches of the year, as (month, day) to (month, day), whose Mondays are issue dates.
    pub issued: Vec<((u32, u32), (u32, u32))>,
    /// Weeks forecast from each Monday.
    pub weeks: u32,
    /// The forecast's constants.
    pub constants: Constants,
}

impl Default for Setup {
    fn default() -> Self {
        Setup {
            history: None,
            least_birds: 20,
            issued: vec![((3, 1), (6, 5)), ((8, 15), (11, 30))],
            weeks: 4,
            constants: Constants::default(),
        }
    }
}

/// One forecast with what came of it and what the climatologies said.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast<T, C> {
    /// Place of the species in the site's list.
    pub species: usize,
    /// The Monday on which it was issued.
    pub issued: NaiveDate,
    /// The visit's date, or the Monday of the week.
    pub target: NaiveDate,
    /// Weeks ahead, the first is the week that begins with the issue Monday.
    pub horizon_weeks: u32,
    /// Ours.
    pub ours: T,
    /// The hand climatology.
    pub hand: C,
    /// The climatology of the last five years.
    pub recent: C,
    /// What was found.
    pub found: Count,
}

/// A row of the backtest.
#[derive(Debug, Clone, PartialEq)]
pub enum Row {
    /// The count of one visit.
    Night(Forecast<Night, Climate>),
    /// The chance of finding at least one on a week's visits; `found` is `Present`,
    /// `Exactly(0)`, or unknown.
    Week(Forecast<f64, f64>),
}

/// The Mondays of a year on which forecasts are issued, in order.
pub fn mondays(year: i32, stretches: &[((u32, u32), (u32, u32))]) -> Vec<NaiveDate> {
    let date = |(m, d): (u32, u32)| NaiveDate::from_ymd_opt(year, m, d);
    let mut mondays: Vec<NaiveDate> = stretches
        .iter()
        .filter_map(|(from, to)| Some((date(*from)?, date(*to)?)))
        .flat_map(|(from, to)| from.iter_days().take_while(move |d| *d <= to))
        .filter(|d| d.weekday() == Weekday::Mon)
        .collect();
    mondays.sort_unstable();
    mondays.dedup();
    mondays
}

/// Species forecast in a year: those of which the site had enough birds before it.
pub fn forecast_species(site: &SiteCounts, year: i32, least_birds: u64) -> Vec<usize> {
    let before = |i: &usize| {
        let earlier = site.species[*i].known().filter(|(v, _)| v.year() < year);
        earlier.map(|(_, c)| u64::from(c.birds())).sum::<u64>()
    };
    (0..site.species.len())
        .filter(|i| before(i) >= least_birds)
        .collect()
}

/// All forecasts of one year at one site, in the order of issue, week, and species.
///
/// `gone` tells of the Mondays done, for progress.
pub fn year(
    site: &SiteCounts,
    year: i32,
    setup: &Setup,
    row: &mut dyn FnMut(Row),
    gone: &mut dyn FnMut(),
) {
    let live = forecast_species(site, year, setup.least_birds);
    let species: Vec<_> = live.iter().map(|i| site.species[*i]).collect();
    let lived = SiteCounts {
        visits: site.visits,
        species: &species,
    };
    let trained = train(&lived, year, setup.history, setup.constants);
    let climates: Vec<(Climatology, Climatology)> = species
        .iter()
        .map(|s| {
            (
                Climatology::new(s, year, setup.history),
                Climatology::new(s, year, Some(LAST_YEARS)),
            )
        })
        .collect();
    for monday in mondays(year, &setup.issued) {
        let issued = trained.issue(&lived, monday);
        for week in 0..setup.weeks {
            let target = monday + Duration::weeks(i64::from(week));
            let visits = week_visits(site, target);
            if visits.is_empty() {
                continue;
            }
            for (place, series) in live.iter().enumerate() {
                let about = About {
                    place,
                    species: *series,
                    monday,
                    target,
                    horizon_weeks: week + 1,
                };
                one(&lived, &issued, &about, &visits, &climates[place], row);
            }
        }
        gone();
    }
}

/// Places of the site's visits in the week that begins on the Monday.
fn week_visits(site: &SiteCounts, monday: NaiveDate) -> Vec<usize> {
    let first = site.visits.partition_point(|v| v.date < monday);
    let last = site
        .visits
        .partition_point(|v| v.date < monday + Duration::days(7));
    (first..last).collect()
}

struct About {
    place: usize,
    species: usize,
    monday: NaiveDate,
    target: NaiveDate,
    horizon_weeks: u32,
}

impl About {
    fn forecast<T, C>(
        &self,
        target: NaiveDate,
        ours: T,
        hand: C,
        recent: C,
        found: Count,
    ) -> Forecast<T, C> {
        let About {
            species,
            monday: issued,
            horizon_weeks,
            ..
        } = *self;
        Forecast {
            species,
            issued,
            target,
            horizon_weeks,
            ours,
            hand,
            recent,
            found,
        }
    }
}

fn one(
    site: &SiteCounts,
    issued: &Issued,
    about: &About,
    visits: &[usize],
    (hand, recent): &(Climatology, Climatology),
    row: &mut dyn FnMut(Row),
) {
    let dated: Vec<(NaiveDate, f64)> = visits
        .iter()
        .map(|i| (site.visits[*i].date, site.visits[*i].log_effort_ratio))
        .collect();
    let days: Vec<DayOfYear> = dated.iter().map(|(d, _)| DayOfYear::of(*d)).collect();
    let counts: Vec<Count> = visits
        .iter()
        .map(|i| site.species[about.place].count(*i))
        .collect();
    let chance = issued.week(about.place, &dated);
    let (by_hand, recently) = (hand.presence(&days), recent.presence(&days));
    row(Row::Week(about.forecast(
        about.target,
        chance,
        by_hand,
        recently,
        found_in_week(&counts),
    )));
    for (i, night) in issued.nights(about.place, &dated).into_iter().enumerate() {
        let (by_hand, recently) = (hand.at(days[i]), recent.at(days[i]));
        row(Row::Night(
            about.forecast(dated[i].0, night, by_hand, recently, counts[i]),
        ));
    }
}

fn found_in_week(counts: &[Count]) -> Count {
    let found: Vec<Option<bool>> = counts.iter().map(|c| c.found()).collect();
    if found.contains(&Some(true)) {
        Count::Present
    } else if found.contains(&None) {
        Count::Unknown
    } else {
        Count::Exactly(0)
    }
}
