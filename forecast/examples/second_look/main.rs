//! How many planted slips are found, beside a rule that a careful person could work by hand?
//!
//! `cargo run --release -p forecast --example second_look -- FOLDER [SEEDS]`, with the folder of
//! the night-migrant tables. Every seed plants 70 swapped days and months, 70 wrong look-alikes
//! and 60 counts ten times too high, in records drawn without exclusions from all species; each is
//! judged beside counts that are otherwise true, by forecasts of earlier years and of the weeks
//! before. Both rules ask about so many true records, 1 in 200. Weights are chosen on 2003 to
//! 2005 (`tune` in place of the seeds), results told for 2006 to 2011.

mod counts;
mod slips;

use chrono::{Datelike, NaiveDate};
use counts::{Fault, Site};
use forecast::calendar::DayOfYear;
use forecast::climatology::Climatology;
use forecast::outlook::SiteCounts;
use forecast::second_look::{
    Expected, Explanation, Habits, Said, Told, Weights, judge, swapped, threshold,
};
use forecast::series::{Count, CountSeries};
use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;
use slips::{KINDS, True, plant};
use std::collections::{BTreeMap, BTreeSet};

const CHOSEN_ON: std::ops::RangeInclusive<i32> = 2003..=2005;
const TOLD_FOR: std::ops::RangeInclusive<i32> = 2006..=2011;
/// Rows of the table: the kinds, and swapped dates that fall on a night with a walk.
const ROWS: usize = KINDS.len() + 1;
/// True records for one question about them.
const ONE_IN: usize = 200;

/// What is known of a year at a site before its records are judged.
struct Year {
    expected: Expected,
    by_hand: Vec<Climatology>,
}

type Known = BTreeMap<(usize, i32), Year>;

fn know(sites: &[Site], years: std::ops::RangeInclusive<i32>, habits: &Habits) -> Known {
    let all: Vec<(usize, i32)> = (0..sites.len())
        .flat_map(|s| years.clone().map(move |y| (s, y)))
        .collect();
    let one = |(s, y): (usize, i32)| {
        let site = &sites[s];
        let series: Vec<&CountSeries> = site.series.iter().collect();
        let made = site.visits.iter().map(|v| v.date).filter(|d| d.year() == y);
        let made: BTreeSet<NaiveDate> = made.collect();
        let other = made.iter().copied().filter_map(swapped);
        let dates: BTreeSet<NaiveDate> = made.iter().copied().chain(other).collect();
        let dates: Vec<NaiveDate> = dates.into_iter().collect();
        let counts = counts_of(site, &series);
        let by_hand = series.iter().map(|s| Climatology::new(s, y, None));
        let year = Year {
            expected: Expected::of(&counts, &site.relatives, y, &dates, habits),
            by_hand: by_hand.collect(),
        };
        ((s, y), year)
    };
    all.into_par_iter().map(one).collect()
}

fn counts_of<'a>(site: &'a Site, series: &'a [&'a CountSeries]) -> SiteCounts<'a> {
    SiteCounts {
        visits: &site.visits,
        species: series,
        temperature: None,
    }
}

/// Logarithms of a record's ratios, unweighted: swapped, look-alike, tenfold, other; and the
/// hand rule's surprise.
#[derive(Clone, Copy)]
struct Scored {
    ours: [f64; 4],
    hand: f64,
}

impl Scored {
    fn score(&self, weights: &Weights) -> f64 {
        let w = [
            weights.swapped,
            weights.look_alike,
            weights.tenfold,
            weights.other,
        ];
        let sum: f64 = self.ours.iter().zip(w).map(|(r, w)| w * r.exp()).sum();
        sum.ln()
    }
}

const ALIKE: Weights = Weights {
    swapped: 1.0,
    look_alike: 1.0,
    tenfold: 1.0,
    other: 1.0,
};

fn scored(year: &Year, told: &Told, said: &Said, relatives: &[usize]) -> Option<Scored> {
    let judged = judge(said, told, &year.expected, relatives, &ALIKE)?;
    let mut ours = [0.0; 4];
    for (what, log) in &judged.explanations {
        let place = match what {
            Explanation::SwappedDate(_) => 0,
            Explanation::LookAlike(_) => 1,
            Explanation::Tenfold => 2,
            Explanation::Other => 3,
        };
        ours[place] += log.exp();
    }
    Some(Scored {
        ours: ours.map(f64::ln),
        hand: by_hand(&year.by_hand[said.species], told, said),
    })
}

/// The hand rule: how unlikely so many birds, or any, are by the climatology of all earlier years.
/// It too asks at once about a date on which no visit was made, or far from all earlier ones.
fn by_hand(climatology: &Climatology, told: &Told, said: &Said) -> f64 {
    let climate = climatology.at(DayOfYear::of(said.date));
    if climate.visits == 0 || !told.visited(said.date) {
        return f64::INFINITY;
    }
    let n = said.count.birds();
    -forecast::negative_binomial::ln_tail(n, climate.mean, climate.size)
}

fn records(sites: &[Site], years: &std::ops::RangeInclusive<i32>) -> Vec<True> {
    let mut all = Vec::new();
    for (s, site) in sites.iter().enumerate() {
        for (species, series) in site.series.iter().enumerate() {
            let found = series
                .known()
                .filter(|(v, c)| years.contains(&v.year()) && c.found() == Some(true));
            let said = |(v, count): (_, Count)| {
                let v: &forecast::series::Visit = v;
                (
                    s,
                    Said {
                        species,
                        date: v.date,
                        count,
                    },
                )
            };
            all.extend(found.map(said));
        }
    }
    all
}

/// Scores of the true records and, by seed and kind, of the planted ones.
struct Trial {
    truth: Vec<Scored>,
    planted: Vec<[Vec<Scored>; ROWS]>,
    on_unvisited: f64,
}

fn trial(
    sites: &[Site],
    known: &Known,
    years: &std::ops::RangeInclusive<i32>,
    seeds: u64,
) -> Trial {
    let series: Vec<Vec<&CountSeries>> = sites.iter().map(|s| s.series.iter().collect()).collect();
    let told: Vec<Told> = sites
        .iter()
        .zip(&series)
        .map(|(site, series)| Told::new(counts_of(site, series)))
        .collect();
    let records = records(sites, years);
    let score = |site: usize, told: &Told, said: &Said| {
        let year = &known[&(site, said.date.year())];
        scored(year, told, said, &sites[site].relatives[said.species])
    };
    let truth = records
        .iter()
        .filter_map(|(s, said)| score(*s, &told[*s], said));
    let truth: Vec<Scored> = truth.collect();
    let (mut swaps, mut unvisited) = (0.0, 0.0);
    let planted = (1..=seeds).map(|seed| {
        let mut kinds: [Vec<Scored>; ROWS] = Default::default();
        for kind in 0..KINDS.len() {
            let mut random = Pcg64Mcg::seed_from_u64(seed * 10 + kind as u64);
            let slips = plant(kind, &records, sites, &mut random);
            if kind == 0 {
                swaps += slips.len() as f64;
                let off = slips
                    .iter()
                    .filter(|s| !told[s.site].visited(s.judged.date));
                unvisited += off.count() as f64;
            }
            let one = |slip: &slips::Slip| {
                let told = told[slip.site].but(slip.otherwise.clone());
                score(slip.site, &told, &slip.judged)
            };
            kinds[kind] = slips.iter().filter_map(one).collect();
            let on_walk = slips.iter().filter(|s| told[s.site].visited(s.judged.date));
            if kind == 0 {
                kinds[ROWS - 1] = on_walk.filter_map(one).collect();
            }
        }
        kinds
    });
    let planted = planted.collect();
    Trial {
        truth,
        planted,
        on_unvisited: unvisited / swaps,
    }
}

/// Part of each kind found by ours and by hand, a row a seed.
fn found(trial: &Trial, weights: &Weights) -> Vec<[[f64; 2]; ROWS]> {
    let questions = trial.truth.len() / ONE_IN;
    let ours: Vec<f64> = trial.truth.iter().map(|s| s.score(weights)).collect();
    let hand: Vec<f64> = trial.truth.iter().map(|s| s.hand).collect();
    let at =
        |scores: &[f64]| threshold::at_most(scores, questions).map_or(f64::INFINITY, |t| t.score);
    let (ours, hand) = (at(&ours), at(&hand));
    let of = |kinds: &[Vec<Scored>; ROWS]| {
        std::array::from_fn(|k| {
            let part = |asked: &dyn Fn(&Scored) -> bool| {
                kinds[k].iter().filter(|s| asked(s)).count() as f64 / kinds[k].len() as f64
            };
            [part(&|s| s.score(weights) > ours), part(&|s| s.hand > hand)]
        })
    };
    trial.planted.iter().map(of).collect()
}

/// Mean over seeds with half of its 95 % interval.
fn mean(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    // Student's t for 19 degrees of freedom is 2.093, the normal's 1.960 for many
    (mean, 2.093 * (variance / n).sqrt())
}

fn tell(rows: &[[[f64; 2]; ROWS]]) {
    println!(
        "{:<24}{:>8}{:>9}   difference, 95 % interval",
        "", "ours", "by hand"
    );
    for (k, kind) in KINDS.iter().chain(&["  of swaps, on a walk"]).enumerate() {
        let of = |i: usize| mean(&rows.iter().map(|r| r[k][i]).collect::<Vec<_>>()).0;
        let apart: Vec<f64> = rows.iter().map(|r| r[k][0] - r[k][1]).collect();
        let (apart, half) = mean(&apart);
        println!(
            "{kind:<24}{:>6.1} %{:>7.1} %   {:+.1} ({:+.1} to {:+.1})",
            100.0 * of(0),
            100.0 * of(1),
            100.0 * apart,
            100.0 * (apart - half),
            100.0 * (apart + half)
        );
    }
}

fn tune(trial: &Trial) {
    let mut all = Vec::new();
    for swapped in [0.3, 1.0, 3.0, 10.0, 30.0] {
        for tenfold in [0.1, 0.3, 1.0, 3.0] {
            for other in [0.0001, 0.001, 0.003, 0.01, 0.03, 0.1, 0.3] {
                let weights = Weights {
                    swapped,
                    look_alike: 1.0,
                    tenfold,
                    other,
                };
                let rows = found(trial, &weights);
                let gains: [[f64; 2]; ROWS] = std::array::from_fn(|k| {
                    let of =
                        |i: usize| rows.iter().map(|r| r[k][i]).sum::<f64>() / rows.len() as f64;
                    [of(0), of(1)]
                });
                let sum: f64 = gains[1..].iter().map(|g| g[0]).sum();
                let least = gains
                    .iter()
                    .map(|g| g[0] - g[1])
                    .fold(f64::INFINITY, f64::min);
                all.push((sum, least, weights, gains));
            }
        }
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (sum, least, w, gains) in all.iter().take(12) {
        println!("sum {sum:.3} least gain {least:.3} {w:?} {gains:.3?}");
    }
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    for (sum, least, w, gains) in all.iter().take(12) {
        println!("sum {sum:.3} least gain {least:.3} {w:?} {gains:.3?}");
    }
}

fn main() -> Result<(), Fault> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let folder = arguments.first().ok_or("which folder holds the tables?")?;
    let sites = counts::read(folder.as_ref())?;
    let asked = arguments.get(1).map_or("20", String::as_str);
    let years = if asked == "tune" { CHOSEN_ON } else { TOLD_FOR };
    let seeds = asked.parse().unwrap_or(20);
    let known = know(&sites, years.clone(), &Habits::default());
    let trial = trial(&sites, &known, &years, seeds);
    println!(
        "{} true records of {} to {}, {} of them asked about by either rule; {} seeds; {:.0} % of \
         swapped dates fall on a night without a walk",
        trial.truth.len(),
        years.start(),
        years.end(),
        trial.truth.len() / ONE_IN,
        seeds,
        100.0 * trial.on_unvisited
    );
    if asked == "tune" {
        tune(&trial);
    }
    tell(&found(&trial, &Weights::default()));
    if asked != "tune" {
        let before = know(&sites, CHOSEN_ON, &Habits::default());
        thresholds_from_before(&self::trial(&sites, &before, &CHOSEN_ON, 0), &trial);
    }
    Ok(())
}

/// How many true records either rule would have asked about with the threshold of earlier years,
/// and the hand rule with no threshold but its own 99.5 % point.
fn thresholds_from_before(before: &Trial, now: &Trial) {
    let ours = |s: &Scored| s.score(&Weights::default());
    let hand = |s: &Scored| s.hand;
    let told = |name: &str, score: &dyn Fn(&Scored) -> f64, above: f64| {
        let asked = now.truth.iter().filter(|s| score(s) > above).count();
        println!(
            "{name}: asks about {asked} of {} true records",
            now.truth.len()
        );
    };
    let at = |score: &dyn Fn(&Scored) -> f64| {
        let scores: Vec<f64> = before.truth.iter().map(score).collect();
        let threshold = threshold::at_most(&scores, scores.len() / ONE_IN);
        threshold.map_or(f64::INFINITY, |t| t.score)
    };
    let (first, last) = (CHOSEN_ON.start(), CHOSEN_ON.end());
    println!("With the threshold of {first} to {last}:");
    told("  ours", &ours, at(&ours));
    told("  by hand", &hand, at(&hand));
    told("  by hand, at its own 99.5 % point", &hand, -0.005_f64.ln());
}
