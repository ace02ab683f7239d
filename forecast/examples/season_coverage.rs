//! How often do the 80 % intervals of one season's timing, numbers and part through hold the truth?
//!
//! `cargo run --release -p forecast --example season_coverage -- FIRST_SEED SEEDS KIND ...`
//! simulates, for each seed, a passage with earlier seasons that ran early or late and were strong
//! or weak, and on top of it one season for each cell: a *fixed* shift and multiplier, looked at when
//! a quarter, half or all of it has come through. Coverage is thus that of each odd season by itself,
//! not an average over seasons that are usual for the most part. Beside the species looked at a site
//! has others, in the same weather: what is learnt of it is learnt from all of them.
//!
//! Kinds: 1 independent counts, 2 weeks that go up and down together, 3 fewer birds, 4 and 5 as 1 and
//! 2 for a species that is alone, 6 and 7 as 1 and 2 for birds that come in flocks; all of them where
//! none is named.

use chrono::{Duration, NaiveDate};
use forecast::normal;
use forecast::passage::cut::Stretch;
use forecast::season::{Against, Estimate, LongTerm};
use forecast::series::{Count, CountSeries, SeriesError, Visit};
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson, StandardNormal};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

/// Days late of the seasons looked at.
pub const SHIFTS: [f64; 3] = [-8.0, 0.0, 8.0];
/// Times the usual numbers.
pub const TIMES: [f64; 3] = [0.5, 1.0, 2.0];
/// Part of the season's birds through.
pub const STAGES: [(&str, f64); 3] = [("a quarter", 0.25), ("half", 0.5), ("the end", 1.0)];
/// In the order of [`Held`].
pub const QUANTITIES: [&str; 3] = ["shift", "times", "share"];

/// First day of the stretch, and its length.
const FIRST_DAY: u32 = 60;
const LENGTH: usize = 131;
/// The season looked at.
const SEASON: i32 = 2030;

/// Do the intervals of shift, multiplier and share hold the truth? Of a passage that is over the
/// share is not asked: all of it is through.
pub type Held = [Option<bool>; 3];

/// What the counts are drawn from.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// Birds counted in a usual season.
    pub birds: f64,
    /// Standard deviation of what each week adds to an AR(1) factor with coefficient 0.8.
    pub week_sd: f64,
    /// Other species of the site.
    pub others: usize,
    /// Do they learn from each other how weeks scatter?
    pub side_by_side: bool,
    /// Sizes of the counts' negative binomial, each as likely; below 1 birds come in flocks.
    pub thetas: [f64; 3],
}

/// As many birds as a passage worth a sentence has, and independent counts.
pub const USUAL: Kind = Kind {
    birds: 300.0,
    week_sd: 0.0,
    others: 7,
    side_by_side: true,
    thetas: [1.0, 2.0, 4.0],
};

/// Weeks that go up and down together, by half as much again or less two times in three.
pub const TOGETHER: Kind = Kind {
    week_sd: 0.25,
    ..USUAL
};

/// A species of the site.
struct Species {
    birds: f64,
    median: f64,
    sd: f64,
    theta: f64,
}

/// What a species' seasons looked like.
type Past = (Vec<Visit>, Vec<Count>);

fn normal(random: &mut Pcg64Mcg) -> f64 {
    StandardNormal.sample(random)
}

/// What each week of a season adds to the log of all counts; a log-normal factor must not lift their
/// mean.
fn weather(kind: Kind, random: &mut Pcg64Mcg) -> Vec<f64> {
    let spread = kind.week_sd / (1.0 - 0.64_f64).sqrt();
    let mut week = spread * normal(random);
    let next = |_| {
        let this = week - 0.5 * spread * spread;
        week = 0.8 * week + kind.week_sd * normal(random);
        this
    };
    (0..=LENGTH / 7).map(next).collect()
}

impl Species {
    fn draw(kind: Kind, median: std::ops::Range<f64>, random: &mut Pcg64Mcg) -> Self {
        Species {
            birds: kind.birds,
            median: random.random_range(median),
            sd: random.random_range(7.0..12.0),
            theta: kind.thetas[random.random_range(0..3)],
        }
    }

    /// Adds the visits of one season: two days in three, up to the day of the year given.
    fn season(
        &self,
        (year, weather): (i32, &[f64]),
        (shift, level): (f64, f64),
        until: f64,
        random: &mut Pcg64Mcg,
        into: &mut Past,
    ) {
        for day in 0..LENGTH {
            let of_year = f64::from(FIRST_DAY) + day as f64;
            if random.random::<f64>() < 1.0 / 3.0 || of_year > until {
                continue;
            }
            let count = self.count(of_year - shift, level + weather[day / 7], random);
            into.0.push(Visit {
                date: date(year, day as i64),
                log_effort_ratio: 0.0,
            });
            into.1.push(Count::Exactly(count));
        }
    }

    fn count(&self, day: f64, level: f64, random: &mut Pcg64Mcg) -> u32 {
        let z = (day - self.median) / self.sd;
        let density = (-0.5 * z * z).exp() / (self.sd * std::f64::consts::TAU.sqrt());
        let mean = 1.5 * self.birds * density * level.exp();
        let Ok(gamma) = Gamma::new(self.theta, mean / self.theta) else {
            return 0;
        };
        Poisson::new(gamma.sample(random)).map_or(0, |p| p.sample(random) as u32)
    }
}

fn date(year: i32, day: i64) -> NaiveDate {
    let first = NaiveDate::from_yo_opt(year, FIRST_DAY).unwrap_or(NaiveDate::MIN);
    first + Duration::days(day)
}

/// One cell: shift, multiplier, stage, by place.
pub type Cell = (usize, usize, usize);

/// All cells.
pub fn cells() -> Vec<Cell> {
    let places = || 0..3;
    places()
        .flat_map(|s| places().flat_map(move |t| places().map(move |g| (s, t, g))))
        .collect()
}

/// One site of a kind, and what is held in each cell; None where nothing was told.
///
/// # Errors
/// Never, short of a fault in the simulation.
pub fn held(kind: Kind, seed: u64) -> Result<Vec<Option<Held>>, SeriesError> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut site = vec![Species::draw(kind, 120.0..130.0, &mut random)];
    let others = (0..kind.others).map(|_| Species::draw(kind, 105.0..145.0, &mut random));
    site.extend(others);
    let mut past: Vec<Past> = site.iter().map(|_| Default::default()).collect();
    let seasons = random.random_range(12..25);
    for year in SEASON - seasons..SEASON {
        let weather = weather(kind, &mut random);
        for (species, past) in site.iter().zip(&mut past) {
            let ran = (2.7 * normal(&mut random), 0.6 * normal(&mut random));
            species.season((year, &weather), ran, 366.0, &mut random, past);
        }
    }
    let stretch = Stretch {
        first: FIRST_DAY as usize - 1,
        length: LENGTH,
        after_gap: true,
        before_gap: true,
    };
    let mut long_term = Vec::new();
    for past in &past {
        let series = CountSeries::new(past.0.clone().into(), past.1.clone())?;
        match LongTerm::learn(&series, &stretch, SEASON, Against::Earlier) {
            Ok(passage) => long_term.push(passage),
            Err(_) if long_term.is_empty() => return Ok(vec![None; cells().len()]),
            Err(_) => {}
        }
    }
    if kind.side_by_side {
        LongTerm::side_by_side(long_term.iter_mut());
    }
    cells()
        .into_iter()
        .map(|cell| one((&site[0], kind), &long_term[0], &past[0], cell, &mut random))
        .collect()
}

fn one(
    (species, kind): (&Species, Kind),
    long_term: &LongTerm,
    past: &Past,
    (s, t, g): Cell,
    random: &mut Pcg64Mcg,
) -> Result<Option<Held>, SeriesError> {
    let (shift, times, stage) = (SHIFTS[s], TIMES[t], STAGES[g].1);
    let until = match stage < 1.0 {
        true => (species.median + shift + species.sd * normal_quantile(stage)).round(),
        false => f64::from(FIRST_DAY) + LENGTH as f64,
    };
    let mut all = past.clone();
    let weather = weather(kind, random);
    let ran = (shift, times.ln());
    species.season((SEASON, &weather), ran, until, random, &mut all);
    let series = CountSeries::new(all.0.into(), all.1)?;
    let day = date(SEASON, until as i64 - i64::from(FIRST_DAY));
    let course = long_term.course(&series, day);
    let Ok(told) = course.standing else {
        return Ok(None);
    };
    let inside = |e: Estimate, truth: f64| e.low <= truth && truth <= e.high;
    let share = normal::cdf((until + 0.5 - species.median - shift) / species.sd);
    Ok(Some([
        Some(inside(told.shift, shift)),
        Some(inside(told.times, times)),
        (stage < 1.0).then(|| inside(told.share, share)),
    ]))
}

/// Of a standard normal, by bisection.
fn normal_quantile(p: f64) -> f64 {
    let (mut low, mut high) = (-6.0, 6.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if normal::cdf(middle) < p {
            low = middle
        } else {
            high = middle
        }
    }
    low
}

/// Part held in each cell by quantity, and seasons told of.
///
/// # Errors
/// As [`held`].
pub fn rates(kind: Kind, first: u64, seeds: u64) -> Result<Vec<([f64; 3], usize)>, SeriesError> {
    let all: Vec<Vec<Option<Held>>> = (first..first + seeds)
        .into_par_iter()
        .map(|seed| held(kind, seed))
        .collect::<Result<_, _>>()?;
    let cell = |i: usize| {
        let told: Vec<Held> = all.iter().filter_map(|seed| seed[i]).collect();
        let rate = |q: usize| {
            let asked = told.iter().filter_map(|h| h[q]);
            asked.clone().filter(|h| *h).count() as f64 / asked.count() as f64
        };
        (std::array::from_fn(rate), told.len())
    };
    Ok((0..cells().len()).map(cell).collect())
}

#[allow(dead_code)] // the test that shares this file has no use for it
fn print(kind: Kind, first: u64, seeds: u64) -> Result<(), SeriesError> {
    println!(
        "{} birds a usual season, {} other species, weekly factor of {}, theta one of {:?}: \
         part of the 80 % intervals that hold, in %",
        kind.birds, kind.others, kind.week_sd, kind.thetas
    );
    println!(
        "shift  times  seen to    told   {}",
        QUANTITIES.map(|q| format!("{q:>6}")).join(" ")
    );
    for ((s, t, g), (held, told)) in cells().into_iter().zip(rates(kind, first, seeds)?) {
        let held = held.map(|h| match h.is_nan() {
            true => format!("{:>6}", "-"),
            false => format!("{:>6.1}", 100.0 * h),
        });
        println!(
            "{:>5}  {:>5}  {:<9}  {told:>4}   {}",
            SHIFTS[s],
            TIMES[t],
            STAGES[g].0,
            held.join(" ")
        );
    }
    Ok(())
}

#[allow(dead_code)]
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let alone = |kind| Kind { others: 0, ..kind };
    let few = Kind {
        birds: 80.0,
        ..USUAL
    };
    let flocks = |kind| Kind {
        thetas: [0.3, 0.5, 0.8],
        ..kind
    };
    let kinds = [
        USUAL,
        TOGETHER,
        few,
        alone(USUAL),
        alone(TOGETHER),
        flocks(USUAL),
        flocks(TOGETHER),
    ];
    let args: Vec<u64> = std::env::args()
        .skip(1)
        .map(|a| a.parse())
        .collect::<Result<_, _>>()?;
    let first = args.first().copied().unwrap_or(1);
    let seeds = args.get(1).copied().unwrap_or(1000);
    let wanted = |number: u64| args.len() < 3 || args[2..].contains(&number);
    for (number, kind) in (1..).zip(kinds) {
        if wanted(number) {
            print(kind, first, seeds)?;
        }
    }
    Ok(())
}
