//! Two species whose numbers rise and fall by a shared cause are found together more often than
//! the product of their chances says.

use chrono::NaiveDate;
use forecast::outlook::{Constants, SiteCounts, train};
use forecast::passage::curve::{Sighting, fit};
use forecast::passage::level::Level;
use forecast::passage::predictive::{both_found, joint_scenarios, none_found, scenarios};
use forecast::passage::season::{Beliefs, Member, update};
use forecast::series::{Count, CountSeries, Visit};
use nalgebra::{Cholesky, Matrix4, Vector4};
use std::sync::Arc;

/// Counts of a passage about day 40 of a stretch of 80, sized by a season's multiplier.
fn count(day: usize, times: f64) -> u32 {
    let z = (day as f64 - 40.0) / 12.0;
    (1.2 * times * (-0.5 * z * z).exp()).round() as u32
}

fn curve(scale: f64) -> forecast::passage::curve::PassageCurve {
    let multipliers = [0.3, 2.5, 0.8, 1.6, 0.5, 3.0, 1.0, 0.4];
    let sightings: Vec<Sighting> = multipliers
        .iter()
        .enumerate()
        .flat_map(|(season, times)| {
            (0..80).step_by(2).map(move |offset| Sighting {
                offset,
                season,
                log_effort: 0.0,
                count: Count::Exactly(count(offset, times * scale)),
            })
        })
        .collect();
    fit(80, &[0.0; 8], &sightings).unwrap()
}

/// Both found, by brute force: the trapezium rule with 25 nodes on each of the four dimensions.
fn by_brute_force(
    curves: (
        &forecast::passage::curve::PassageCurve,
        &forecast::passage::curve::PassageCurve,
    ),
    mean: &Vector4<f64>,
    covariance: &Matrix4<f64>,
    nights: &[(f64, f64)],
) -> f64 {
    let root = Cholesky::new(*covariance).unwrap().l();
    let nodes: Vec<(f64, f64)> = (-12..=12)
        .map(|i| f64::from(i) * 0.4)
        .map(|z| (z, (-0.5 * z * z).exp()))
        .collect();
    let (mut sum, mut total) = (0.0, 0.0);
    for a in &nodes {
        for b in &nodes {
            for c in &nodes {
                for d in &nodes {
                    let at = mean + root * Vector4::new(a.0, b.0, c.0, d.0);
                    let weight = a.1 * b.1 * c.1 * d.1;
                    let found =
                        |curve: &forecast::passage::curve::PassageCurve, level: f64, shift: f64| {
                            let zero = |(offset, _): &(f64, f64)| {
                                curve
                                    .dispersion
                                    .zero((curve.log_mean(offset - shift) + level).exp())
                            };
                            1.0 - nights.iter().map(zero).product::<f64>()
                        };
                    sum += weight * found(curves.0, at[0], at[1]) * found(curves.1, at[2], at[3]);
                    total += weight;
                }
            }
        }
    }
    sum / total
}

#[test]
fn a_shared_cause_brings_species_together() {
    let (first, second) = (curve(1.0), curve(0.6));
    let beliefs = Beliefs {
        level: Level {
            mean: 0.0,
            variance: 1.0,
        },
        week_carry: 0.8,
        week_sd: 0.25,
        night_sd: 0.6,
        shift_sd: 3.0,
        own_shift_sd: 2.0,
    };
    let members = [&first, &second].map(|curve| Member {
        curve,
        own_level_sd: 0.4,
        own_shift: None,
        counts: Vec::new(),
    });
    let season = update(beliefs, 80, &[], &members).unwrap();
    let nights = [(27.0, 0.0), (29.0, 0.0), (32.0, 0.0)];
    let week = 4;
    let (mean, covariance) = season.pair((0, 1), week);
    let together = both_found(
        (&first, &second),
        &joint_scenarios(&mean, &covariance, 0.0),
        &nights,
    );
    let chance = |curve, member| {
        1.0 - none_found(
            curve,
            &scenarios(&season.standing(member, week), 0.0),
            &nights,
        )
    };
    let product = chance(&first, 0) * chance(&second, 1);
    let exact = by_brute_force((&first, &second), &mean, &covariance, &nights);
    println!("together {together:.4}, product {product:.4}, by brute force {exact:.4}");
    assert!(together > product + 0.02);
    assert!((together - exact).abs() < 0.005);
}

/// A site at 38 degrees south, its visitors there from October to March: seasons are cut from
/// the data, a stay across New Year is one season, and its forecast knows it.
#[test]
fn seasons_of_the_south_are_found_in_the_data() {
    let visits: Arc<[Visit]> = (2005..2016)
        .flat_map(|year| {
            (1..=365)
                .step_by(3)
                .filter_map(move |day| NaiveDate::from_yo_opt(year, day))
        })
        .map(|date| Visit {
            date,
            log_effort_ratio: 0.0,
        })
        .collect();
    let present = |d: u16| d >= 285 || d <= 75;
    let counts = |scale: u32| {
        visits.iter().map(move |v| {
            Count::Exactly(if present(v.day().get()) {
                scale + v.day().get() as u32 % 3
            } else {
                0
            })
        })
    };
    let series: Vec<CountSeries> = [2, 5]
        .map(|scale| CountSeries::new(visits.clone(), counts(scale).collect()).unwrap())
        .into();
    let site = SiteCounts {
        visits: &visits,
        species: &series.iter().collect::<Vec<_>>(),
        temperature: None,
    };
    let trained = train(&site, 2015, None, Constants::default());
    assert_eq!(trained.seasons.len(), 2);
    let issue = NaiveDate::from_ymd_opt(2015, 1, 5).unwrap();
    let issued = trained.issue(&site, issue);
    let week = |month, day| {
        let date = NaiveDate::from_ymd_opt(2015, month, day).unwrap();
        issued.week(0, &[(date, 0.0), (date + chrono::Duration::days(3), 0.0)])
    };
    assert!(week(1, 6) > 0.95, "there in January: {}", week(1, 6));
    assert!(week(7, 6) < 0.05, "away in July: {}", week(7, 6));
}
