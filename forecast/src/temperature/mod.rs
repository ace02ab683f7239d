//! Does a passage's timing follow the temperature before it? A gate for each passage of a site,
//! opened only where the link foretells seasons that it has not seen, and where chance alone
//! would hardly show one as strong anywhere at the site.

pub mod daily;
pub mod elastic_net;
mod gate;
pub mod left_out;
pub mod of_site;
mod shuffle;
pub mod slope;
pub mod windows;

use crate::season_shift::{
    SeasonShift, SeasonShiftError, effective_number, in_order, weights_about_mean,
};
use elastic_net::ElasticNetError;
use nalgebra::DMatrix;
use shuffle::Hand;
use std::collections::BTreeSet;
use windows::Predictors;

pub use gate::{Closed, Expected, Gate, Link};

/// With fewer seasons no link is looked for. A choice: of eight, even a correlation of 0.8
/// arises by chance somewhere among a site's passages.
pub const LEAST_SEASONS: usize = 8;
/// The seasons must tell as much as this many of equal weight.
pub const LEAST_EFFECTIVE: f64 = 6.0;

/// Raw settings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Params {
    /// Chance at the most that a site without any link opens a gate.
    pub level: f64,
    /// Deals of temperatures to years by which that chance is told.
    pub shuffles: usize,
}

impl Default for Params {
    fn default() -> Self {
        Params {
            level: 0.05,
            shuffles: 999,
        }
    }
}

/// Checked settings. The default ones are good: a test holds them to it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ValidParams(Params);

/// Settings that can't be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ParamsError {
    /// A probability is wanted.
    #[error("the level is {0}, expected between 0 and 1")]
    Level(f64),
    /// The level lies beyond what so few can tell.
    #[error("{shuffles} shuffles can't tell a chance of {level}: {needed} are needed")]
    Shuffles {
        /// given
        shuffles: usize,
        /// chance to be told
        level: f64,
        /// least that can
        needed: usize,
    },
}

impl Params {
    /// Checks that the shuffles can tell the level.
    pub fn check(self) -> Result<ValidParams, ParamsError> {
        let Params { level, shuffles } = self;
        if !(level > 0.0 && level < 1.0) {
            return Err(ParamsError::Level(level));
        }
        let needed = (1.0 / level - 1.0).ceil() as usize;
        if shuffles < needed {
            return Err(ParamsError::Shuffles {
                shuffles,
                level,
                needed,
            });
        }
        Ok(ValidParams(self))
    }
}

/// A passage of the site whose gate is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    predictors: Predictors,
    seasons: Vec<SeasonShift>,
}

impl Candidate {
    /// Seasons in any order, each once; those without temperatures don't count.
    pub fn new(predictors: Predictors, seasons: &[SeasonShift]) -> Result<Self, SeasonShiftError> {
        Ok(Candidate {
            predictors,
            seasons: in_order(seasons)?,
        })
    }

    /// The seasons with temperatures, and these.
    fn told(&self) -> (Vec<SeasonShift>, DMatrix<f64>) {
        let rows = self.predictors.rows();
        let known = |s: &SeasonShift| rows.contains_key(&s.year());
        let seasons: Vec<SeasonShift> = self.seasons.iter().copied().filter(known).collect();
        let years: Vec<i32> = seasons.iter().map(|s| s.year()).collect();
        (seasons, self.table(&years))
    }

    /// Temperatures of the years, a row each, not a number where they aren't known.
    fn table(&self, years: &[i32]) -> DMatrix<f64> {
        let rows = self.predictors.rows();
        DMatrix::from_fn(years.len(), self.predictors.columns().len(), |i, j| {
            rows.get(&years[i]).map_or(f64::NAN, |row| row[j])
        })
    }

    /// Why it can't be looked at, if so.
    fn too_few(&self) -> Option<Closed> {
        let least = LEAST_SEASONS;
        if self.seasons.len() < least {
            return Some(Closed::TooFewSeasons {
                seasons: self.seasons.len(),
                needed: least,
            });
        }
        let (told, _) = self.told();
        if told.len() < least {
            return Some(Closed::TooFewTemperatures {
                seasons: told.len(),
                needed: least,
            });
        }
        let effective = effective_number(&weights_about_mean(&told));
        (effective < LEAST_EFFECTIVE).then_some(Closed::TooUneven {
            effective,
            needed: LEAST_EFFECTIVE,
        })
    }
}

/// The gates of a site's passages, in their order. They must be asked for together: the more are
/// asked for, the more would open by chance. The seed deals the shuffles.
pub fn gates(site: &[Candidate], params: &ValidParams, seed: u64) -> Vec<Gate> {
    let refused: Vec<Option<Closed>> = site.iter().map(Candidate::too_few).collect();
    let tested: Vec<&Candidate> = site
        .iter()
        .zip(&refused)
        .filter(|(_, r)| r.is_none())
        .map(|(c, _)| c)
        .collect();
    let mut chances = chances(&tested, params, seed).into_iter();
    let gate = |(candidate, refused): (&Candidate, Option<Closed>)| match refused {
        Some(why) => Gate::Closed(why),
        // one chance for each that was not refused
        None => gate(candidate, chances.next().unwrap_or(1.0), params),
    };
    site.iter().zip(refused).map(gate).collect()
}

fn chances(tested: &[&Candidate], params: &ValidParams, seed: u64) -> Vec<f64> {
    let years: BTreeSet<i32> = tested
        .iter()
        .flat_map(|c| c.seasons.iter().map(|s| s.year()))
        .collect();
    let years: Vec<i32> = years.into_iter().collect();
    let hand = |c: &&Candidate| {
        let place = |s: &SeasonShift| years.partition_point(|y| *y < s.year());
        (c.table(&years), c.seasons.iter().map(place).collect())
    };
    let hands: Vec<Hand> = tested
        .iter()
        .map(|c| {
            let (deck, places) = hand(c);
            Hand {
                deck,
                places,
                seasons: &c.seasons,
            }
        })
        .collect();
    shuffle::chances(&hands, params.0.shuffles, params.0.level, seed)
}

fn gate(candidate: &Candidate, chance: f64, params: &ValidParams) -> Gate {
    if chance > params.0.level {
        return Gate::Closed(Closed::Chance { chance });
    }
    let (seasons, x) = candidate.told();
    match link(candidate, &seasons, &x, chance) {
        Ok(link) if link.left_out.gain > link.left_out.gain_se => Gate::Open(Box::new(link)),
        Ok(link) => Gate::Closed(Closed::NoGain(link.left_out)),
        Err(why) => Gate::Closed(Closed::NoFit { why }),
    }
}

fn link(
    candidate: &Candidate,
    seasons: &[SeasonShift],
    x: &DMatrix<f64>,
    chance: f64,
) -> Result<Link, String> {
    let in_words = |e: ElasticNetError| e.to_string();
    let columns = candidate.predictors.columns();
    let left_out = left_out::leave_one_out(x, seasons).map_err(in_words)?;
    let rows = left_out::rows(x.clone(), seasons).map_err(in_words)?;
    let fitted = left_out::fit(&rows).map_err(in_words)?;
    Ok(Link {
        slope: slope::slope(x, columns, seasons).map_err(|e| e.to_string())?,
        left_out,
        chance,
        seasons: seasons.len(),
        arrival_day: candidate.predictors.arrival_day(),
        columns: columns.to_vec(),
        intercept: fitted.intercept,
        coefficients: fitted.coefficients,
    })
}
