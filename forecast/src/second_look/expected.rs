//! What was to be expected on each night of a year, from earlier years, from this season's visits
//! before the night's week, and from how many birds of other species the night brought.

use super::said::Told;
use crate::calendar::IsoWeek;
use crate::outlook::{Constants, Issued, Night, SiteCounts, train};
use crate::series::{Count, CountSeries};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// How the other species of a night tell of its numbers: nights are gamma about 1, and the birds
/// of the others scatter so many times more than a Poisson's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habits {
    /// Shape of the gamma: 1 / the variance of nights.
    pub night_shape: f64,
    /// Variance over mean of a night's other birds.
    pub scatter: f64,
}

impl Default for Habits {
    /// Chosen with [`super::Weights`], on the same years.
    fn default() -> Self {
        Habits {
            night_shape: 1.0,
            scatter: 2.0,
        }
    }
}

/// The expected counts of a site in a year.
#[derive(Debug)]
pub struct Expected {
    nights: BTreeMap<NaiveDate, Vec<Night>>,
    /// Species that no earlier year found.
    new: Vec<bool>,
}

impl Expected {
    /// What was expected on the given dates of a year. `relatives` names for each species those of
    /// its look-alike sets, itself among them: what is told of them on a night is not taken as
    /// news of the night, so that no record speaks for itself.
    pub fn of(
        site: &SiteCounts,
        relatives: &[Vec<usize>],
        year: i32,
        dates: &[NaiveDate],
        habits: &Habits,
    ) -> Self {
        let trained = train(site, year, None, Constants::default());
        let told = Told::new(*site);
        let mut by_week: BTreeMap<NaiveDate, Vec<NaiveDate>> = BTreeMap::new();
        for date in dates {
            let monday = IsoWeek::of(*date).monday();
            by_week.entry(monday).or_default().push(*date);
        }
        let mut nights = BTreeMap::new();
        for (monday, dates) in by_week {
            let issued = trained.issue(site, monday);
            for date in dates {
                nights.insert(date, night(&issued, &told, relatives, date, habits));
            }
        }
        Expected {
            nights,
            new: site
                .species
                .iter()
                .map(|s| !found_before(s, year))
                .collect(),
        }
    }

    /// Was the species found in no year before?
    pub(super) fn is_new(&self, species: usize) -> bool {
        self.new.get(species).is_some_and(|new| *new)
    }

    /// What was expected of a species on a date; None where the date was not asked for.
    pub fn at(&self, species: usize, date: NaiveDate) -> Option<&Night> {
        self.nights.get(&date)?.get(species)
    }

    /// Birds of a species expected on all dates from one to another, both included.
    pub fn between(&self, species: usize, from: NaiveDate, to: NaiveDate) -> f64 {
        let nights = self.nights.range(from..=to);
        nights
            .filter_map(|(_, n)| n.get(species))
            .map(|n| n.mean)
            .sum()
    }
}

fn found_before(series: &CountSeries, year: i32) -> bool {
    let mut earlier = series.known().filter(|(v, _)| v.year() < year);
    earlier.any(|(_, count)| count.found() == Some(true))
}

fn night(
    issued: &Issued,
    told: &Told,
    relatives: &[Vec<usize>],
    date: NaiveDate,
    habits: &Habits,
) -> Vec<Night> {
    let effort = told.log_effort(date);
    let one = |species: usize, effort: f64| -> Night {
        let mut nights = issued.nights(species, &[(date, effort)]);
        nights.pop().unwrap_or(Night {
            mean: 0.0,
            probabilities: vec![1.0],
        })
    };
    let usual: Vec<Night> = (0..told.species()).map(|s| one(s, effort)).collect();
    let birds: Vec<Option<f64>> = (0..told.species())
        .map(|s| birds(told.count(s, date), usual[s].mean))
        .collect();
    let times = |species: usize| {
        let others = (0..told.species()).filter(|o| !relatives[species].contains(o));
        let (mut found, mut expected) = (0.0, 0.0);
        for (n, m) in others.filter_map(|o| Some((birds[o]?, usual[o].mean))) {
            found += n;
            expected += m;
        }
        (habits.night_shape + found / habits.scatter)
            / (habits.night_shape + expected / habits.scatter)
    };
    if !told.visited(date) {
        return usual;
    }
    (0..told.species())
        .map(|s| one(s, effort + times(s).ln()))
        .collect()
}

/// Birds told of, held to ten times what a species may bring: one flock, or one slip, is not the
/// night.
fn birds(count: Count, mean: f64) -> Option<f64> {
    let n = count.found().map(|_| f64::from(count.birds()))?;
    Some(n.min(10.0 * (mean + 1.0)))
}

/// A night's probability of a record: of that very number, of at least it, or of any bird.
pub(super) fn likelihood(night: &Night, count: Count) -> f64 {
    match count {
        Count::Exactly(n) | Count::About(n) => exactly(night, n),
        Count::AtLeast(n) => at_least(night, n),
        Count::Present => at_least(night, 1),
        Count::Unknown => 1.0,
    }
    .max(SMALLEST * of_any_number(count))
}

/// No record is less likely than this part of what it is where nothing is known of the number: a
/// forecast may be wrong altogether. A number gets no likelier by being absurd.
const SMALLEST: f64 = 1e-9;

/// Probability of a record of which nothing is known but that a bird was found: of n birds
/// 1 / (n (n + 1)), of n at least 1 / n.
pub(super) fn of_any_number(count: Count) -> f64 {
    let n = f64::from(count.birds().max(1));
    match count {
        Count::Exactly(0) | Count::About(0) | Count::Present | Count::Unknown => 1.0,
        Count::Exactly(_) | Count::About(_) => 1.0 / (n * (n + 1.0)),
        Count::AtLeast(_) => 1.0 / n,
    }
}

fn exactly(night: &Night, n: u32) -> f64 {
    match night.probabilities.get(n as usize) {
        Some(p) => *p,
        None => {
            // what lies beyond the table falls off as 1 / n^2
            let (n, last) = (f64::from(n), night.probabilities.len() as f64);
            beyond(night) * last / (n * (n + 1.0))
        }
    }
}

fn beyond(night: &Night) -> f64 {
    (1.0 - night.probabilities.iter().sum::<f64>()).max(0.0)
}

/// Probability of at least so many.
pub(super) fn at_least(night: &Night, n: u32) -> f64 {
    let n = n as usize;
    if n == 0 {
        return 1.0;
    }
    let last = night.probabilities.len();
    let listed: f64 = night.probabilities.iter().skip(n).sum();
    listed + beyond(night) * (last as f64 / n.max(last) as f64)
}
