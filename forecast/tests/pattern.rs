//! Five invented species at one invented site, with known truth: the orders of arrival and
//! departure, the verdicts, and the overlap of two autumns must come out right.

use chrono::NaiveDate;
use forecast::calendar::{DAYS, DayOfYear};
use forecast::fit::{Passage, PassageName, SpeciesFit, Verdict};
use forecast::overlap::both_at_or_above;
use forecast::passage::name::Hemisphere;
use forecast::passage::{Setting, fit};
use forecast::series::{Count, CountSeries, Visit};
use forecast::watched::Watched;
use forecast::year_curve::Params;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson, StandardNormal};
use rand_pcg::Pcg64Mcg;
use std::sync::Arc;

const SEASONS: i32 = 25;
const THETA: f64 = 1.5;

/// A movement (mean day, standard deviation, birds a season) or a stay between two soft edges.
#[derive(Clone, Copy)]
enum Part {
    Movement {
        day: f64,
        sd: f64,
        birds: f64,
    },
    Stay {
        from: f64,
        to: f64,
        edge: f64,
        birds: f64,
    },
}

impl Part {
    /// Expected birds on a visit of the day; visits fall on two days of seven.
    fn mean(self, day: f64) -> f64 {
        let year = DAYS as f64;
        let visits = 2.0 / 7.0;
        match self {
            Part::Movement { day: at, sd, birds } => {
                let away = (day - at + 1.5 * year).rem_euclid(year) - 0.5 * year;
                birds / visits * (-0.5 * (away / sd).powi(2)).exp()
                    / (sd * std::f64::consts::TAU.sqrt())
            }
            Part::Stay {
                from,
                to,
                edge,
                birds,
            } => {
                let logistic = |x: f64| 1.0 / (1.0 + (-x / edge).exp());
                let shape = |d: f64| logistic(d - from) * logistic(to - d);
                let length = (to - from).max(1.0);
                birds / visits / length * (shape(day) + shape(day + year) + shape(day - year))
            }
        }
    }
}

/// Scarce and common migrants with overlapping autumns, a summer stayer with a few winter birds,
/// two summer visitors that leave three weeks apart.
fn species() -> [Vec<Part>; 5] {
    let movement = |day, sd, birds| Part::Movement { day, sd, birds };
    let stay = |from, to, birds| Part::Stay {
        from,
        to,
        edge: 4.0,
        birds,
    };
    [
        vec![movement(135.0, 6.0, 0.5), movement(255.0, 9.0, 1.0)],
        vec![movement(118.0, 8.0, 40.0), movement(245.0, 14.0, 90.0)],
        vec![
            stay(95.0, 265.0, 150.0),
            Part::Stay {
                from: 345.0,
                to: 400.0,
                edge: 5.0,
                birds: 0.4,
            },
        ],
        vec![stay(115.0, 225.0, 80.0)],
        vec![stay(122.0, 246.0, 80.0)],
    ]
}

fn simulate(seed: u64) -> (Arc<[Visit]>, Vec<CountSeries>) {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut visits = Vec::new();
    for year in 2000..2000 + SEASONS {
        for day in 1..=365 {
            if random.random::<f64>() < 2.0 / 7.0 {
                let date = NaiveDate::from_yo_opt(year, day).unwrap();
                visits.push(Visit {
                    date,
                    log_effort_ratio: 0.0,
                });
            }
        }
    }
    let visits: Arc<[Visit]> = visits.into();
    let all = species();
    let series = all.iter().map(|parts| {
        let levels: Vec<f64> = (0..SEASONS)
            .map(|_| {
                let z: f64 = StandardNormal.sample(&mut random);
                (0.4 * z).exp()
            })
            .collect();
        let counts = visits.iter().map(|v| {
            let mean: f64 = parts.iter().map(|p| p.mean(f64::from(v.day().get()))).sum();
            let mean = mean * levels[(v.year() - 2000) as usize];
            let gamma = Gamma::new(THETA, mean.max(1e-12) / THETA)
                .unwrap()
                .sample(&mut random);
            Count::Exactly(Poisson::new(gamma.max(1e-12)).unwrap().sample(&mut random) as u32)
        });
        CountSeries::new(visits.clone(), counts.collect()).unwrap()
    });
    let series = series.collect();
    (visits, series)
}

fn fits(seed: u64) -> (Vec<CountSeries>, Vec<SpeciesFit>) {
    let (visits, series) = simulate(seed);
    let watched = Watched::from_visits(&visits);
    let params = Params::default().check().unwrap();
    let setting = Setting {
        params: &params,
        watched: &watched,
        hemisphere: Hemisphere::North,
        cuts: &[],
        seed,
    };
    let fits = series.iter().map(|s| fit(s, &setting)).collect();
    (series, fits)
}

fn passage(fit: &SpeciesFit, name: PassageName) -> Option<&Passage> {
    fit.passages
        .iter()
        .find(|p| p.name == name && p.verdict == Verdict::Curve)
}

/// What is wrong with a seed's outcome; empty where all is right.
fn faults(seed: u64) -> Vec<String> {
    let (series, fits) = fits(seed);
    let mut faults = Vec::new();
    let mut must = |ok: bool, what: &str| {
        if !ok {
            faults.push(what.to_owned());
        }
    };
    must(series[0].birds() <= 60, "the scarce one is not scarce");
    let day = |d: Option<forecast::fit::DateEstimate>| d.map(|d| d.day);
    let autumn = [
        passage(&fits[0], PassageName::Autumn),
        passage(&fits[1], PassageName::Autumn),
    ];
    must(
        autumn[1].is_some() && passage(&fits[1], PassageName::Spring).is_some(),
        "the common migrant's two passages",
    );
    must(
        fits[0].verdict == Verdict::Curve,
        "the scarce migrant's verdict",
    );
    let summers: Vec<Option<&Passage>> = fits[2..]
        .iter()
        .map(|f| passage(f, PassageName::Summer))
        .collect();
    must(summers.iter().all(Option::is_some), "three summer stays");
    let winter = fits[2]
        .passages
        .iter()
        .find(|p| p.name == PassageName::Winter);
    must(
        winter.is_none_or(|p| p.verdict == Verdict::TooFew),
        "a few winter birds are too few",
    );
    if let [Some(a), Some(b), Some(c)] = summers[..] {
        let arrivals = [day(a.arrival), day(b.arrival), day(c.arrival)];
        must(
            arrivals[0] < arrivals[1] && arrivals[1] < arrivals[2],
            "order of arrivals",
        );
        let departures = [day(b.departure), day(c.departure), day(a.departure)];
        must(
            departures[0] < departures[1] && departures[1] < departures[2],
            "order of departures",
        );
        let apart = departures[1].zip(departures[0]).map(|(x, y)| x - y);
        must(
            apart.is_some_and(|d| (14.0..=28.0).contains(&d)),
            "three weeks between two departures",
        );
    }
    for fault in overlap_faults(&fits) {
        must(false, &fault);
    }
    faults
}

/// The dates between which both autumn migrants can be found with a chance of 5 % or more.
fn overlap_faults(fits: &[SpeciesFit]) -> Vec<String> {
    let truth: Vec<Vec<f64>> = species()[..2]
        .iter()
        .map(|parts| {
            (1..=DAYS)
                .map(|d| chance(parts.iter().map(|p| p.mean(d as f64)).sum()))
                .collect()
        })
        .collect();
    let fitted = |fit: &SpeciesFit| -> Vec<f64> {
        let Some(curve) = &fit.curve else {
            return vec![0.0; DAYS];
        };
        // the truth's mean has the years' effects in it, exp(0.4^2 / 2)
        (1..=DAYS as u16)
            .map(|d| {
                chance(
                    curve.mean(DayOfYear::try_from(d).unwrap())
                        * (0.5 * curve.year_effect_sd.powi(2)).exp(),
                )
            })
            .collect()
    };
    let autumn = |a: &[f64], b: &[f64]| {
        let spans = both_at_or_above(a.try_into().unwrap(), b.try_into().unwrap(), 0.05);
        spans
            .into_iter()
            .find(|(first, _)| first.get() > 200)
            .map(|(a, b)| (f64::from(a.get()), f64::from(b.get())))
    };
    let (Some(expected), Some(found)) = (
        autumn(&truth[0], &truth[1]),
        autumn(&fitted(&fits[0]), &fitted(&fits[1])),
    ) else {
        return vec!["no autumn overlap".to_owned()];
    };
    let far = (expected.0 - found.0).abs() > 7.0 || (expected.1 - found.1).abs() > 7.0;
    if far {
        vec![format!("overlap {found:?}, expected {expected:?}")]
    } else {
        Vec::new()
    }
}

fn chance(mean: f64) -> f64 {
    1.0 - (1.0 + mean / THETA).powf(-THETA)
}

#[test]
fn orders_verdicts_and_overlap_come_out_right() {
    let mut right = 0;
    for seed in 1..=20 {
        let faults = faults(seed);
        println!("seed {seed}: {faults:?}");
        right += u32::from(faults.is_empty());
    }
    assert!(right >= 18, "right in {right} of 20 seeds");
}
