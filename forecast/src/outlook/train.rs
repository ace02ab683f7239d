//! What the years before a given one teach.

use super::seasons::seasons;
use super::warmth::{self, Searched};
use super::{Constants, SiteCounts};
use crate::climatology::{Climatology, LAST_YEARS};
use crate::passage;
use crate::passage::curve::{self, PassageCurve, Sighting};
use crate::passage::cut::Stretch;
use crate::passage::level::{self, Level, SeasonLevel};
use crate::passage::predictive::Table;
use crate::series::{CountSeries, Visit};
use crate::temperature::Link;
use crate::temperature::of_site::PastTiming;
use crate::watched::Watched;
use chrono::Datelike;

/// All that is known of a site before a year begins.
#[derive(Debug, Clone)]
pub struct Trained {
    /// The year to come.
    pub year: i32,
    /// Its seasons.
    pub seasons: Vec<TrainedSeason>,
    /// The last five years' climatology, a species each.
    pub(super) recent: Vec<Climatology>,
    /// What was made of the temperature; None where none is known.
    pub(super) searched: Option<Searched>,
    pub(super) constants: Constants,
}

/// One season of the year.
#[derive(Debug, Clone)]
pub struct TrainedSeason {
    /// Its days.
    pub stretch: Stretch,
    /// Curve and table of each species; None where there are too few birds, or the fit failed.
    pub(super) species: Vec<Option<Learnt>>,
    /// Shared level believed of each season with days in the year, by the year in which it
    /// begins: a season that goes over New Year is under way when the year begins.
    pub(super) levels: Vec<(i32, Level)>,
    /// Standard deviation of the species' own levels.
    pub own_level_sd: f64,
}

/// A species in a season.
#[derive(Debug, Clone)]
pub(super) struct Learnt {
    pub(super) curve: PassageCurve,
    pub(super) table: Table,
    /// When its seasons ran; None where no temperature is known to hold them against.
    pub(super) timing: Option<PastTiming>,
    /// How its timing follows the temperature, where it does.
    pub(super) link: Option<Link>,
}

/// A season's days, the years it was seen in, and what each species taught.
pub(super) type SeasonLearnt = (Stretch, Vec<i32>, Vec<Option<Learnt>>);

/// Learns from visits before 1 January of `year`; only from the last `history` years where given.
pub fn train(site: &SiteCounts, year: i32, history: Option<i32>, constants: Constants) -> Trained {
    let from = history.map_or(i32::MIN, |n| year - n);
    let earlier: Vec<_> = site
        .visits
        .iter()
        .copied()
        .filter(|v| (from..year).contains(&v.year()))
        .collect();
    let watched = Watched::from_visits(&earlier);
    let stretches = if earlier.is_empty() {
        Vec::new()
    } else {
        seasons(&watched, site.species, &(from..year))
    };
    let mut learnt: Vec<SeasonLearnt> = stretches
        .into_iter()
        .map(|stretch| {
            let over = |v: &&Visit| {
                stretch.holds(v.day().index())
                    && stretch.season_year(v.date) < first_unfinished(&stretch, year)
            };
            let season_year = |v: &Visit| stretch.season_year(v.date);
            let mut years: Vec<i32> = earlier.iter().filter(over).map(season_year).collect();
            years.sort_unstable();
            years.dedup();
            let warmth = site.temperature.is_some();
            let fit = |series: &&CountSeries| {
                let fresh = learn(series, &stretch, &years, from..year, &constants)?;
                Some(fresh.finish(&stretch, &years, warmth))
            };
            let species = site.species.iter().map(fit).collect();
            (stretch, years, species)
        })
        .collect();
    let searched = site
        .temperature
        .map(|t| warmth::search(&mut learnt, t, year));
    let levels = past_levels(&learnt);
    let seasons = learnt
        .drain(..)
        .map(|(stretch, years, species)| {
            let believed = |season: i32| {
                let time = f64::from(season) + middle(&stretch);
                let past: Vec<SeasonLevel> =
                    levels.iter().copied().filter(|l| l.time < time).collect();
                (season, level::forecast(&past, time))
            };
            let own_level_sd =
                own_level_sd(&stretch, &years, &species, &levels).max(constants.least_own_level_sd);
            TrainedSeason {
                levels: (first_unfinished(&stretch, year)..=year)
                    .map(believed)
                    .collect(),
                own_level_sd,
                stretch,
                species,
            }
        })
        .collect();
    let recent = site
        .species
        .iter()
        .map(|s| Climatology::new(s, year, Some(LAST_YEARS)))
        .collect();
    Trained {
        year,
        seasons,
        recent,
        searched,
        constants,
    }
}

/// The year in which the first season begins that is not over when `year` does. What was seen of
/// it so far is not for the past to teach: the forecast takes it in as this season's visits.
fn first_unfinished(stretch: &Stretch, year: i32) -> i32 {
    let goes_over_new_year = stretch.first + stretch.length > crate::calendar::DAYS;
    year - i32::from(goes_over_new_year)
}

/// Middle of a stretch within its year, in years.
fn middle(stretch: &Stretch) -> f64 {
    (stretch.first as f64 + stretch.length as f64 / 2.0) / crate::calendar::DAYS as f64
}

fn learn(
    series: &CountSeries,
    stretch: &Stretch,
    years: &[i32],
    span: std::ops::Range<i32>,
    constants: &Constants,
) -> Option<Fresh> {
    let last = first_unfinished(stretch, span.end);
    let (seen, sightings) = passage::sightings(series, stretch, |date| {
        span.contains(&date.year()) && stretch.season_year(date) < last
    });
    // seasons are counted over the site's years, so that all species share their places
    let sightings: Vec<Sighting> = sightings
        .into_iter()
        .map(|s| Sighting {
            season: years.partition_point(|y| *y < seen[s.season]),
            ..s
        })
        .collect();
    let birds: u64 = sightings.iter().map(|s| u64::from(s.count.birds())).sum();
    if birds < constants.least_birds {
        return None;
    }
    // a fit that fails leaves the species to the climatology, which is told by its basis
    let curve = curve::fit(stretch.length, &vec![0.0; years.len()], &sightings).ok()?;
    Some(Fresh { curve, sightings })
}

/// A curve with the sightings behind it.
struct Fresh {
    curve: PassageCurve,
    sightings: Vec<Sighting>,
}

impl Fresh {
    fn finish(self, stretch: &Stretch, years: &[i32], warmth: bool) -> Learnt {
        let timing = || warmth::timing(&self.curve, stretch, years, &self.sightings);
        Learnt {
            table: Table::new(self.curve.dispersion),
            timing: if warmth { timing() } else { None },
            link: None,
            curve: self.curve,
        }
    }
}

/// A species' own estimate of a season's level, its prior taken out again.
fn own_level(curve: &PassageCurve, season: usize) -> Level {
    let (mode, sd) = curve
        .seasons
        .get(season)
        .copied()
        .unwrap_or((0.0, curve.season_sd));
    let precision = sd.powi(-2);
    // a season that tells nothing leaves the prior as it was
    let told = (precision - curve.season_sd.powi(-2)).max(1e-6);
    Level {
        mean: mode * precision / told,
        variance: 1.0 / told,
    }
}

fn past_levels(learnt: &[SeasonLearnt]) -> Vec<SeasonLevel> {
    let mut levels: Vec<SeasonLevel> = learnt
        .iter()
        .flat_map(|(stretch, years, species)| {
            years.iter().enumerate().filter_map(move |(i, year)| {
                let own: Vec<Level> = species
                    .iter()
                    .flatten()
                    .map(|l| own_level(&l.curve, i))
                    .collect();
                let time = f64::from(*year) + middle(stretch);
                Some(SeasonLevel {
                    time,
                    level: level::shared(&own)?,
                })
            })
        })
        .collect();
    levels.sort_by(|a, b| a.time.total_cmp(&b.time));
    levels
}

/// Spread of the species' own levels about the shared ones, by moments.
fn own_level_sd(
    stretch: &Stretch,
    years: &[i32],
    species: &[Option<Learnt>],
    levels: &[SeasonLevel],
) -> f64 {
    let (mut sum, mut total) = (0.0, 0.0);
    for (i, year) in years.iter().enumerate() {
        let time = f64::from(*year) + middle(stretch);
        let Some(shared) = levels.iter().find(|l| l.time == time) else {
            continue;
        };
        for learnt in species.iter().flatten() {
            let own = own_level(&learnt.curve, i);
            let weight = (own.variance + 0.3).powi(-2);
            sum += weight * ((own.mean - shared.level.mean).powi(2) - own.variance);
            total += weight;
        }
    }
    if total > 0.0 {
        (sum / total).max(0.0).sqrt()
    } else {
        0.0
    }
}
