//! Where there is a link, its gate opens and the slope is told with its interval.

use crate::site::{Site, open, params};
use crate::weather::{made_up_temperature, real_temperature};
use forecast::temperature::daily::DailyTemperature;
use forecast::temperature::windows::date_of;
use forecast::temperature::{Link, gates};
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Normal};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

/// A species whose timing follows the mean temperature of a stretch before its arrival, among a
/// site's others that follow none; its link, if its gate opened.
pub fn constructed(
    temperature: &DailyTemperature,
    (from_days, length): (i64, usize),
    slope: f64,
    seed: u64,
) -> Option<Link> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut site = Site::without_link(1991..2012, &mut random);
    let noise = Normal::new(0.0, 1.0).unwrap();
    let arrival = 112.0;
    let season = |year: i32| {
        let first = date_of(arrival, year)? - chrono::Duration::days(from_days);
        let warmth = temperature.mean(first, length)?;
        let sd = random.random_range(0.7..2.5);
        let scatter: f64 = 1.8 * noise.sample(&mut random) + sd * noise.sample(&mut random);
        Some((year, slope * (warmth - 3.0) + scatter, sd))
    };
    let seasons: Option<Vec<_>> = (1991..2012).map(season).collect();
    site.shifts[0] = seasons?;
    site.arrivals[0] = arrival;
    let all = gates(&site.candidates(temperature, |y| y), &params(999), seed);
    open(&all[0]).cloned()
}

/// In how many of 50 seeds the gate opens and the slope's interval holds the true slope.
fn opened_and_covered(temperature: &DailyTemperature) -> usize {
    // nearly the strength of the link of lake ice; a window that is none of those looked at
    const SLOPE: f64 = -3.0;
    const WINDOW: (i64, usize) = (33, 30);
    let links: Vec<Link> = (0..50_u64)
        .into_par_iter()
        .filter_map(|seed| constructed(temperature, WINDOW, SLOPE, seed))
        .collect();
    let holds = |l: &&Link| l.slope.interval.0 <= SLOPE && SLOPE <= l.slope.interval.1;
    let covered = links.iter().filter(holds).count();
    println!(
        "{} of 50 open, {covered} intervals hold the slope",
        links.len()
    );
    covered
}

#[test]
fn a_link_with_made_up_spring_warmth_opens_and_its_interval_holds_the_truth() {
    let covered = opened_and_covered(&made_up_temperature(5));
    assert!(covered >= 44, "{covered}");
}

#[test]
fn a_link_with_real_spring_warmth_opens_and_its_interval_holds_the_truth() {
    let Some(temperature) = real_temperature() else {
        return;
    };
    let covered = opened_and_covered(&temperature);
    assert!(covered >= 44, "{covered}");
}
