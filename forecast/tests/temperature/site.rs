//! A site of many passages without any link.

use forecast::season_shift::SeasonShift;
use forecast::temperature::daily::DailyTemperature;
use forecast::temperature::windows::{Column, Predictors, Window, columns};
use forecast::temperature::{Candidate, Gate, Link, Params, ValidParams};
use rand::Rng;
use rand_distr::{Distribution, Normal};
use rand_pcg::Pcg64Mcg;
use std::collections::BTreeMap;

/// Passages of a site at the scale of the real counts.
const PASSAGES: usize = 40;
const BASE_C: f64 = 5.0;

pub fn usual() -> Vec<Column> {
    columns(&Window::usual(0), BASE_C)
}

pub fn params(shuffles: usize) -> ValidParams {
    Params {
        level: 0.05,
        shuffles,
    }
    .check()
    .unwrap()
}

/// Passages of a site, with arrivals through spring and autumn and shifts that the species of a
/// season share in part: the shared shift of 1.9 days and the own one of 1.9 make the spread of
/// 2.7 days and the correlation of one half that passage timing of one site shows at the most.
pub struct Site {
    pub arrivals: Vec<f64>,
    pub shifts: Vec<Vec<(i32, f64, f64)>>,
}

impl Site {
    pub fn without_link(years: std::ops::Range<i32>, random: &mut Pcg64Mcg) -> Self {
        let (shared, own) = (
            Normal::new(0.0, 1.9).unwrap(),
            Normal::new(0.0, 1.9).unwrap(),
        );
        let standard = Normal::new(0.0, 1.0).unwrap();
        let arrivals: Vec<f64> = (0..PASSAGES)
            .map(|i| {
                if i % 2 == 0 {
                    75.0 + i as f64 * 1.5
                } else {
                    225.0 + i as f64 * 1.5
                }
            })
            .collect();
        let halves: Vec<[f64; 2]> = years
            .clone()
            .map(|_| [shared.sample(random), shared.sample(random)])
            .collect();
        let mut passage = |i: usize| {
            let known = random.random_range(0.8..4.0);
            let mut seasons = Vec::new();
            for (year, half) in years.clone().zip(&halves) {
                // a scarce species tells nothing in some seasons
                if random.random_bool(0.08) {
                    continue;
                }
                let sd = known * random.random_range(0.7..1.6);
                let noise = sd * standard.sample(random);
                seasons.push((year, half[i % 2] + own.sample(random) + noise, sd));
            }
            seasons
        };
        let shifts = (0..PASSAGES).map(&mut passage).collect();
        Site { arrivals, shifts }
    }

    pub fn candidates(
        &self,
        temperature: &DailyTemperature,
        of: impl Fn(i32) -> i32,
    ) -> Vec<Candidate> {
        let one = |(arrival, seasons): (&f64, &Vec<(i32, f64, f64)>)| {
            let years = seasons.iter().map(|s| s.0);
            let known = Predictors::new(temperature, *arrival, usual(), 1985..2015).unwrap();
            let dealt: BTreeMap<i32, Vec<f64>> = years
                .filter_map(|y| Some((y, known.rows().get(&of(y))?.clone())))
                .collect();
            let predictors = Predictors::given(*arrival, usual(), dealt).unwrap();
            Candidate::new(predictors, &shifts(seasons)).unwrap()
        };
        self.arrivals.iter().zip(&self.shifts).map(one).collect()
    }
}

pub fn shifts(seasons: &[(i32, f64, f64)]) -> Vec<SeasonShift> {
    seasons
        .iter()
        .map(|(year, days, sd)| SeasonShift::new(*year, *days, *sd).unwrap())
        .collect()
}

pub fn open(gate: &Gate) -> Option<&Link> {
    match gate {
        Gate::Open(link) => Some(link),
        Gate::Closed(_) => None,
    }
}
