//! Forecasts issued on a date.

use super::train::{Learnt, Trained, TrainedSeason};
use super::{SiteCounts, warmth};
use crate::calendar::DayOfYear;
use crate::passage::curve::PassageCurve;
use crate::passage::level::{self, Level};
use crate::passage::predictive::{
    LARGEST, Scenario, both_found, joint_scenarios, log_means, none_found, pmf, scenarios,
};
use crate::passage::season::{Beliefs, Member, Night as Visited, Season, Standing, WEEK, update};
use crate::series::Count;
use crate::temperature::Expected;
use crate::temperature::daily::DailyTemperature;
use chrono::{Duration, NaiveDate};

/// A site's forecasts as of a date.
#[derive(Debug)]
pub struct Issued<'a> {
    pub(super) trained: &'a Trained,
    pub(super) seasons: Vec<Under<'a>>,
}

/// A season under way, or about to begin.
#[derive(Debug)]
pub(super) struct Under<'a> {
    pub(super) trained: &'a TrainedSeason,
    /// The year it began, or will begin.
    year: i32,
    /// None where no species has a curve, or the update failed.
    season: Option<Season>,
    /// Place of each species among the season's members.
    place: Vec<Option<usize>>,
    /// Shift of each species as its temperatures foretell it.
    pub(super) expected: Vec<Option<Expected>>,
}

/// What is expected of one species on one visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Night {
    /// Expected count.
    pub mean: f64,
    /// Probabilities of 0, 1, 2, ... 140 birds; what they lack to 1 lies beyond.
    pub probabilities: Vec<f64>,
}

impl Night {
    /// P(Y <= y) for y = 0..=140.
    pub fn cdf(&self) -> Vec<f64> {
        let sum = |sum: &mut f64, p: &f64| {
            *sum = (*sum + p).min(1.0);
            Some(*sum)
        };
        self.probabilities.iter().scan(0.0, sum).collect()
    }
}

impl Trained {
    /// Adds this season's visits before `date`.
    pub fn issue(&self, site: &SiteCounts, date: NaiveDate) -> Issued<'_> {
        let any = self.searched.is_some_and(|s| s.links > 0);
        let known = site.temperature.filter(|_| any).map(|t| t.before(date));
        let seasons = self
            .seasons
            .iter()
            .map(|s| under(self, s, site, date, known.as_ref()))
            .collect();
        Issued {
            trained: self,
            seasons,
        }
    }
}

fn under<'a>(
    all: &Trained,
    trained: &'a TrainedSeason,
    site: &SiteCounts,
    date: NaiveDate,
    known: Option<&DailyTemperature>,
) -> Under<'a> {
    let day = DayOfYear::of(date).index();
    let inside = trained.stretch.holds(day);
    let year = if inside {
        trained.stretch.season_year(date)
    } else {
        all.year
    };
    let so_far: Vec<usize> = (0..site.visits.len())
        .filter(|i| {
            let v = &site.visits[*i];
            v.date < date
                && date - v.date < Duration::days(crate::calendar::DAYS as i64)
                && trained.stretch.holds(v.day().index())
                && trained.stretch.season_year(v.date) == year
        })
        .collect();
    let nights: Vec<Visited> = so_far
        .iter()
        .map(|i| Visited {
            offset: trained.stretch.offset(site.visits[*i].day().index()),
            log_effort: site.visits[*i].log_effort_ratio,
        })
        .collect();
    let foretold = |learnt: &Option<Learnt>| learnt.as_ref()?.link.as_ref()?.expected(known?, year);
    let expected: Vec<Option<Expected>> = trained.species.iter().map(foretold).collect();
    let mut place = vec![None; trained.species.len()];
    let mut members = Vec::new();
    for (i, learnt) in trained.species.iter().enumerate() {
        let Some(Learnt { curve, .. }) = learnt else {
            continue;
        };
        place[i] = Some(members.len());
        let counts: Vec<Count> = so_far.iter().map(|v| site.species[i].count(*v)).collect();
        members.push(Member {
            curve,
            own_level_sd: trained.own_level_sd,
            own_shift: expected[i].map(|e| warmth::belief(e, &all.constants)),
            counts,
        });
    }
    let season = update(
        beliefs(all, trained.level(year)),
        trained.stretch.length,
        &nights,
        &members,
    )
    .ok();
    Under {
        trained,
        year,
        season,
        place,
        expected,
    }
}

impl TrainedSeason {
    /// Shared level believed of the season that begins in the year.
    fn level(&self, year: i32) -> Level {
        let of_year = self.levels.iter().find(|(y, _)| *y == year);
        of_year
            .or(self.levels.last())
            .map_or(level::forecast(&[], 0.0), |(_, level)| *level)
    }
}

fn beliefs(all: &Trained, level: Level) -> Beliefs {
    let c = &all.constants;
    Beliefs {
        level: Level {
            variance: level.variance.max(0.01),
            ..level
        },
        week_carry: c.week_carry,
        week_sd: c.week_sd,
        night_sd: c.night_sd,
        shift_sd: c.shift_sd,
        own_shift_sd: c.own_shift_sd,
    }
}

/// A species in a week of a season.
struct Aim<'a> {
    learnt: &'a Learnt,
    scenarios: Vec<Scenario>,
    under: &'a Under<'a>,
    week: usize,
}

impl Issued<'_> {
    /// Level and shift of the season that holds the date: shared by its species, each with its
    /// variance. None outside the seasons.
    pub fn season(&self, date: NaiveDate) -> Option<(Level, Level)> {
        let day = DayOfYear::of(date).index();
        let under = self.seasons.iter().find(|u| u.trained.stretch.holds(day))?;
        under.season.as_ref().map(Season::shared)
    }

    /// Has the species a curve on the date? Else its forecast is the climatology of the last
    /// five years.
    pub fn has_curve(&self, species: usize, date: NaiveDate) -> bool {
        self.aim(species, &[date]).is_some()
    }

    /// The visit dates must lie in one season, and its week is that of the middle one.
    fn aim(&self, species: usize, dates: &[NaiveDate]) -> Option<Aim<'_>> {
        let middle = *dates.get(dates.len() / 2)?;
        let inside = |d: &NaiveDate, u: &Under| {
            u.trained.stretch.holds(DayOfYear::of(*d).index())
                && u.trained.stretch.season_year(*d) == u.year
        };
        let under = self
            .seasons
            .iter()
            .find(|u| dates.iter().all(|d| inside(d, u)))?;
        let learnt = under.trained.species.get(species)?.as_ref()?;
        let week = under.trained.stretch.offset(DayOfYear::of(middle).index()) / WEEK;
        let standing = under
            .season
            .as_ref()?
            .standing((*under.place.get(species)?)?, week);
        Some(Aim {
            learnt,
            scenarios: scenarios(&standing, self.lift()),
            under,
            week,
        })
    }

    /// Probability that the species is found on at least one of the visits of one week, given as
    /// dates with log effort ratios.
    pub fn week(&self, species: usize, visits: &[(NaiveDate, f64)]) -> f64 {
        let recent = &self.trained.recent[species];
        let none_recently: f64 = visits
            .iter()
            .map(|(d, _)| recent.at(DayOfYear::of(*d)).zero())
            .product();
        let dates: Vec<NaiveDate> = visits.iter().map(|(d, _)| *d).collect();
        let Some(aim) = self.aim(species, &dates) else {
            return 1.0 - none_recently;
        };
        let nights: Vec<(f64, f64)> = visits.iter().map(|(d, e)| (aim.offset(*d), *e)).collect();
        let none = none_found(&aim.learnt.curve, &aim.scenarios, &nights);
        let pool = self.trained.constants.pool;
        1.0 - ((1.0 - pool) * none + pool * none_recently)
    }

    /// Probability that both of two species are found in one week, each on at least one of its
    /// visits: integrated over what they share (level, week and timing of the season), not a
    /// product of their chances.
    pub fn both(&self, species: (usize, usize), visits: &[(NaiveDate, f64)]) -> f64 {
        let apart = || self.week(species.0, visits) * self.week(species.1, visits);
        if species.0 == species.1 {
            return self.week(species.0, visits);
        }
        let dates: Vec<NaiveDate> = visits.iter().map(|(d, _)| *d).collect();
        let (Some(a), Some(b)) = (self.aim(species.0, &dates), self.aim(species.1, &dates)) else {
            return apart();
        };
        let members = a.under.place[species.0].zip(b.under.place[species.1]);
        let (Some(season), Some(members)) = (&a.under.season, members) else {
            return apart();
        };
        let (mean, covariance) = season.pair(members, a.week);
        let both = joint_scenarios(&mean, &covariance, self.lift());
        let nights: Vec<(f64, f64)> = visits.iter().map(|(d, e)| (a.offset(*d), *e)).collect();
        let ours = both_found((&a.learnt.curve, &b.learnt.curve), &both, &nights);
        let recent = |i: usize| -> f64 {
            let climate = &self.trained.recent[i];
            1.0 - visits
                .iter()
                .map(|(d, _)| climate.at(DayOfYear::of(*d)).zero())
                .product::<f64>()
        };
        let pool = self.trained.constants.pool;
        (1.0 - pool) * ours + pool * recent(species.0) * recent(species.1)
    }

    /// Curve and standing of a species on a date, with the date's place in its season; None where
    /// it has no curve.
    pub(crate) fn standing(
        &self,
        species: usize,
        date: NaiveDate,
    ) -> Option<(&PassageCurve, Standing, f64)> {
        let aim = self.aim(species, &[date])?;
        let place = (*aim.under.place.get(species)?)?;
        let standing = aim.under.season.as_ref()?.standing(place, aim.week);
        Some((&aim.learnt.curve, standing, aim.offset(date)))
    }

    /// The chance that a visit finds none, by the climatology of the last five years.
    pub(crate) fn none_recently(&self, species: usize, date: NaiveDate) -> f64 {
        self.trained.recent[species].at(DayOfYear::of(date)).zero()
    }

    /// What the shared weekly factor would add to means.
    pub(crate) fn lift(&self) -> f64 {
        let c = &self.trained.constants;
        c.lift * c.week_sd.powi(2) / (1.0 - c.week_carry.powi(2))
    }

    /// What is expected on each of the visits of one week.
    pub fn nights(&self, species: usize, visits: &[(NaiveDate, f64)]) -> Vec<Night> {
        let dates: Vec<NaiveDate> = visits.iter().map(|(d, _)| *d).collect();
        let aim = self.aim(species, &dates);
        visits
            .iter()
            .map(|(d, effort)| self.night(species, *d, *effort, aim.as_ref()))
            .collect()
    }

    fn night(&self, species: usize, date: NaiveDate, effort: f64, aim: Option<&Aim>) -> Night {
        let climate = self.trained.recent[species].at(DayOfYear::of(date));
        let recent = pmf(climate.size, climate.mean);
        let Some(aim) = aim else {
            return Night {
                mean: climate.mean,
                probabilities: recent,
            };
        };
        let pool = self.trained.constants.pool;
        let means = || log_means(&aim.learnt.curve, &aim.scenarios, aim.offset(date), effort);
        let ours = aim.learnt.table.mix(means());
        let mean: f64 = means().map(|(log, w)| w * log.exp()).sum();
        let mixed = ours
            .iter()
            .zip(&recent)
            .map(|(a, b)| (1.0 - pool) * a + pool * b);
        Night {
            mean: (1.0 - pool) * mean + pool * climate.mean,
            probabilities: mixed.take(LARGEST + 1).collect(),
        }
    }
}

impl Aim<'_> {
    fn offset(&self, date: NaiveDate) -> f64 {
        self.under
            .trained
            .stretch
            .offset(DayOfYear::of(date).index()) as f64
    }
}
