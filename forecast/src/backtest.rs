//! Rolling-origin backtest: every Monday of the migration, forecasts for the next four weeks
//! from what was known on that day, beside the two climatologies that a careful person could
//! work out by hand.

use crate::calendar::DayOfYear;
use crate::climatology::{Climate, Climatology, LAST_YEARS};
use crate::outlook::{Constants, Issued, Night, SiteCounts, train};
use crate::series::{Count, CountSeries};
use chrono::{Datelike, Duration, NaiveDate, Weekday};

/// A stretch of the year, from (month, day) to (month, day), both included.
pub type Span = ((u32, u32), (u32, u32));

/// What is forecast and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Only so many preceding years are learnt from, ours and the hand climatology alike.
    pub history: Option<i32>,
    /// A species is forecast in a year where the site had so many birds before it.
    pub least_birds: u64,
    /// Stretches of the year, as (month, day) to (month, day), whose Mondays are issue dates; one
    /// that ends before it begins goes over New Year.
    pub issued: Vec<Span>,
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

/// The Mondays of a year on which forecasts are issued, in order, each once.
pub fn mondays(year: i32, stretches: &[Span]) -> Vec<NaiveDate> {
    let holds = |date: &NaiveDate| {
        let day = (date.month(), date.day());
        stretches.iter().any(|(from, to)| match from <= to {
            true => (*from..=*to).contains(&day),
            false => day >= *from || day <= *to,
        })
    };
    let first = NaiveDate::from_ymd_opt(year, 1, 1);
    let days = first.into_iter().flat_map(|f| f.iter_days());
    days.take_while(|d| d.year() == year)
        .filter(|d| d.weekday() == Weekday::Mon && holds(d))
        .collect()
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
/// `gone` tells of the Mondays done, for progress. Years and Mondays of which nothing can be said
/// give no rows.
pub fn year(
    site: &SiteCounts,
    year: i32,
    setup: &Setup,
    row: &mut dyn FnMut(Row),
    gone: &mut dyn FnMut(),
) {
    let live = forecast_species(site, year, setup.least_birds);
    let species: Vec<_> = live.iter().map(|i| site.species[*i]).collect();
    let mondays = mondays(year, &setup.issued);
    if live.is_empty() {
        return mondays.iter().for_each(|_| gone());
    }
    let lived = SiteCounts {
        visits: site.visits,
        species: &species,
        temperature: site.temperature,
    };
    let trained = train(&lived, year, setup.history, setup.constants);
    let climates: Vec<_> = species.iter().map(|s| climates(s, year, setup)).collect();
    for monday in mondays {
        let issued = trained.issue(&lived, monday);
        for (horizon_weeks, target) in weeks(monday, setup.weeks) {
            let visits = week_visits(site, target);
            if visits.is_empty() {
                continue;
            }
            for (place, species) in live.iter().copied().enumerate() {
                let about = About {
                    place,
                    species,
                    monday,
                    target,
                    horizon_weeks,
                };
                one(&lived, &issued, &about, &visits, &climates[place], row);
            }
        }
        gone();
    }
}

/// The hand climatology and that of the last five years.
fn climates(series: &CountSeries, year: i32, setup: &Setup) -> (Climatology, Climatology) {
    (
        Climatology::new(series, year, setup.history),
        Climatology::new(series, year, Some(LAST_YEARS)),
    )
}

/// The weeks forecast from a Monday: horizon, from 1, and the Monday that each begins with.
fn weeks(monday: NaiveDate, weeks: u32) -> impl Iterator<Item = (u32, NaiveDate)> {
    (0..weeks).map(move |week| (week + 1, monday + Duration::weeks(i64::from(week))))
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

#[cfg(test)]
mod tests {
    use super::*;

    fn date(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).expect("a date")
    }

    #[test]
    fn mondays_of_the_stretches_each_once() {
        let spring = mondays(2007, &[((3, 1), (6, 5))]);
        assert_eq!(spring[0], date(2007, 3, 5));
        assert_eq!(
            (spring[spring.len() - 1], spring.len()),
            (date(2007, 6, 4), 14)
        );
        let twice = mondays(
            2007,
            &[((3, 1), (6, 5)), ((6, 4), (6, 30)), ((3, 1), (3, 31))],
        );
        assert_eq!(twice.len(), 14 + 3);
        assert!(twice.windows(2).all(|w| w[0] < w[1]));
        // 1 January 2007 and 31 December 2007 are Mondays
        let winter = mondays(2007, &[((12, 25), (1, 7))]);
        assert_eq!(winter, [date(2007, 1, 1), date(2007, 12, 31)]);
        // 29 February is a day like others where the year has it, and stops nothing where not
        assert_eq!(mondays(2016, &[((2, 29), (2, 29))]), [date(2016, 2, 29)]);
        assert_eq!(mondays(2017, &[((2, 29), (3, 7))]), [date(2017, 3, 6)]);
        assert_eq!(mondays(2007, &[]), []);
    }
}
