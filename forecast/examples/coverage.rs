//! How often do the 80 % intervals of a passage's dates hold the truth?
//!
//! `cargo run --release -p forecast --example coverage -- FIRST_SEED SEEDS` simulates one passage
//! a seed with known truth, fits it, and counts. The long-term truth is the season's shape at its
//! usual time; the truth of any one year is, for the parts of a passage, the date by which that
//! part of the year's counted birds has gone through, and for the peak the top of the year's curve.

use chrono::NaiveDate;
use forecast::fit::{DateEstimate, Passage, Verdict};
use forecast::passage::name::Hemisphere;
use forecast::passage::{Setting, fit};
use forecast::series::{Count, CountSeries, SeriesError, Visit};
use forecast::watched::Watched;
use forecast::window::quantile;
use forecast::year_curve::Params;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson, StandardNormal};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

/// Quantities in the order of [`Covered`].
pub const QUANTITIES: [&str; 4] = ["arrival", "median", "peak", "departure"];

/// For each quantity: does the long-term interval hold the truth, and the any-year one?
pub type Covered = [[bool; 2]; 4];

/// First and last day of the year that is visited.
const WATCH: (u32, u32) = (60, 190);
/// Birds that a season must have counted for its own dates to mean anything.
const BIRDS_TOLD: f64 = 20.0;

struct World {
    median: f64,
    sd: f64,
    birds: f64,
    theta: f64,
    shift_sd: f64,
    seasons: i32,
}

impl World {
    fn draw(random: &mut Pcg64Mcg) -> Self {
        World {
            seasons: random.random_range(8..25),
            median: random.random_range(120.0..140.0),
            sd: random.random_range(6.0..14.0),
            // 20 to 300 birds a season, evenly on the log scale
            birds: random.random_range(20f64.ln()..300f64.ln()).exp(),
            theta: [0.5, 1.0, 3.0][random.random_range(0..3)],
            shift_sd: random.random_range(1.5..4.5),
        }
    }

    /// Count on a day of a season that runs late by `shift` with `level` on the log scale; half
    /// the days are visited.
    fn count(&self, day: u32, shift: f64, level: f64, random: &mut Pcg64Mcg) -> u32 {
        let z = (f64::from(day) - self.median - shift) / self.sd;
        let density = (-0.5 * z * z).exp() / (self.sd * std::f64::consts::TAU.sqrt());
        let mean = 2.0 * self.birds * density * level.exp();
        let Ok(gamma) = Gamma::new(self.theta, mean / self.theta) else {
            return 0;
        };
        Poisson::new(gamma.sample(random)).map_or(0, |p| p.sample(random) as u32)
    }

    fn truth(&self) -> [f64; 4] {
        let five_percent = 1.644_853_626_951 * self.sd;
        [
            self.median - five_percent,
            self.median,
            self.median,
            self.median + five_percent,
        ]
    }
}

/// Simulates and fits one passage. None where no passage with dates was found, or the year to
/// come had too few birds to tell.
///
/// # Errors
/// Never, short of a fault in the simulation.
pub fn covered(seed: u64) -> Result<Option<Covered>, SeriesError> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let world = World::draw(&mut random);
    let (mut visits, mut counts) = (Vec::new(), Vec::new());
    let mut coming = vec![0.0; (WATCH.1 - WATCH.0 + 1) as usize];
    let mut coming_shift = 0.0;
    for season in 0..=world.seasons {
        let normal = |random: &mut Pcg64Mcg| -> f64 { StandardNormal.sample(random) };
        let (shift, level) = (
            world.shift_sd * normal(&mut random),
            0.6 * normal(&mut random),
        );
        for day in WATCH.0..=WATCH.1 {
            if random.random::<f64>() < 0.5 {
                continue;
            }
            let count = world.count(day, shift, level, &mut random);
            if season == world.seasons {
                coming[(day - WATCH.0) as usize] = f64::from(count);
                coming_shift = shift;
            } else if let Some(date) = NaiveDate::from_yo_opt(2000 + season, day) {
                visits.push(Visit {
                    date,
                    log_effort_ratio: 0.0,
                });
                counts.push(Count::Exactly(count));
            }
        }
    }
    let series = CountSeries::new(visits.into(), counts)?;
    let Some(passage) = fitted(&series, seed) else {
        return Ok(None);
    };
    if coming.iter().sum::<f64>() < BIRDS_TOLD {
        return Ok(None);
    }
    let counted = |part| quantile(&coming, part).map(|at| at + f64::from(WATCH.0));
    let any_year = [
        counted(0.05),
        counted(0.5),
        Some(world.median + coming_shift),
        counted(0.95),
    ];
    let estimates = [
        passage.arrival,
        passage.median,
        passage.peak,
        passage.departure,
    ];
    Ok(hold(&estimates, &world.truth(), &any_year))
}

fn fitted(series: &CountSeries, seed: u64) -> Option<Passage> {
    let watched = Watched::from_visits(series.visits());
    let params = Params::default().check().ok()?;
    let setting = Setting {
        params: &params,
        watched: &watched,
        hemisphere: Hemisphere::North,
        cuts: &[],
        seed,
    };
    fit(series, &setting)
        .passages
        .into_iter()
        .find(|p| p.verdict == Verdict::Curve)
}

fn hold(
    estimates: &[Option<DateEstimate>; 4],
    long_term: &[f64; 4],
    any_year: &[Option<f64>; 4],
) -> Option<Covered> {
    let mut covered = Covered::default();
    for i in 0..4 {
        let (estimate, this_year) = (estimates[i]?, any_year[i]?);
        let inside = |x: f64, (low, high): (f64, f64)| low <= x && x <= high;
        covered[i] = [
            inside(long_term[i], estimate.known),
            inside(this_year, estimate.any_year?),
        ];
    }
    Some(covered)
}

/// Part of the simulated passages held, by quantity: long-term and any-year; and how many there were.
///
/// # Errors
/// As [`covered`].
pub fn rates(first: u64, seeds: u64) -> Result<([[f64; 2]; 4], usize), SeriesError> {
    let all: Vec<Option<Covered>> = (first..first + seeds)
        .into_par_iter()
        .map(covered)
        .collect::<Result<_, _>>()?;
    let told: Vec<Covered> = all.into_iter().flatten().collect();
    let rate =
        |i: usize, j: usize| told.iter().filter(|c| c[i][j]).count() as f64 / told.len() as f64;
    Ok((
        std::array::from_fn(|i| [rate(i, 0), rate(i, 1)]),
        told.len(),
    ))
}

#[allow(dead_code)] // the test that shares this file has no use for it
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<u64> = std::env::args()
        .skip(1)
        .map(|a| a.parse())
        .collect::<Result<_, _>>()?;
    let (first, seeds) = (
        args.first().copied().unwrap_or(1),
        args.get(1).copied().unwrap_or(2000),
    );
    let (rates, passages) = rates(first, seeds)?;
    println!(
        "{passages} passages from seeds {first} to {}",
        first + seeds - 1
    );
    for (quantity, [known, any_year]) in QUANTITIES.iter().zip(rates) {
        println!(
            "{quantity:<10} long-term {:.1} %   any year {:.1} %",
            100.0 * known,
            100.0 * any_year
        );
    }
    Ok(())
}
