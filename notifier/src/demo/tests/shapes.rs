//! Curves and chance against textbook values.

use super::*;
use crate::demo::random::negative_binomial;
use chrono::Datelike;

#[test]
fn the_parts_of_every_passage_add_up_to_one() {
    for species in truth().species {
        for passage in species.passages {
            // A year for residents; for the others every day on which any bird can be about.
            let days = match passage.shape {
                Shape::AllYear { .. } => 1..=365,
                _ => -300..=800,
            };
            let sum: f64 = days.map(|d| passage.shape.density(f64::from(d))).sum();
            // A resident's year lacks its quarter day: 1/1461 of the birds, and a little wave.
            assert!((sum - 1.0).abs() < 1e-3, "{} {sum}", species.scientific);
        }
    }
}

#[test]
fn a_normal_passage_has_the_quantiles_of_the_normal_distribution() {
    let shape = Shape::Passing {
        mean: 200.0,
        spread_days: 10.0,
    };
    // 1.6449 is the 95 % point of the standard normal, in any table. Taking
    // a day's birds as spread evenly over the day costs a hundredth of a day.
    for (part, z) in [(0.05, -1.6449), (0.5, 0.0), (0.95, 1.6449)] {
        let day = shape.day_of_part(part).unwrap();
        assert!((day - (200.0 + 10.0 * z)).abs() < 0.02, "{part}: {day}");
    }
    assert_eq!(
        Shape::AllYear {
            peak: 1.0,
            wave: 0.1
        }
        .day_of_part(0.5),
        None
    );
}

#[test]
fn a_stay_is_a_plateau_with_soft_edges_across_new_year() {
    let truth = truth();
    let pipit = &truth.species[index_of(&truth, "Anthus petrosus")];
    let on = |day: f64| pipit.expected(LONG_BANK, day);
    // 970 birds over 365 + 84 - 288 = 161 days; half of it on the edges' middle days.
    let plateau = 970.0 / 161.0;
    assert!((on(1.0) / plateau - 1.0).abs() < 0.01);
    assert!((on(360.0) / plateau - 1.0).abs() < 0.01);
    assert!((on(288.0) / plateau - 0.5).abs() < 0.01);
    assert!((on(84.0) / plateau - 0.5).abs() < 0.05);
    assert!(on(190.0) < 1e-4);
}

#[test]
fn negative_binomial_counts_have_their_mean_and_variance() {
    let mut rng = stream(1, Purpose::Writing);
    for (mean, size) in [(0.3, 0.5), (4.0, 1.2), (60.0, 3.0)] {
        let n = 40_000;
        let counts: Vec<f64> = (0..n)
            .map(|_| f64::from(negative_binomial(&mut rng, mean, size).unwrap()))
            .collect();
        let got = counts.iter().sum::<f64>() / f64::from(n);
        let got_var = counts.iter().map(|c| (c - got).powi(2)).sum::<f64>() / f64::from(n - 1);
        let var: f64 = mean + mean * mean / size;
        assert!(
            (got - mean).abs() < 4.0 * (var / f64::from(n)).sqrt(),
            "{mean} {got}"
        );
        // The variance of a sample variance is var^2 (excess kurtosis + 2) / n; the excess
        // kurtosis of a negative binomial is 6 / size + 1 / var.
        let error = var * ((6.0 / size + 1.0 / var + 2.0) / f64::from(n)).sqrt();
        assert!(
            (got_var - var).abs() < 4.0 * error,
            "{mean} {got_var} {var}"
        );
    }
    assert!(negative_binomial(&mut rng, 1.0, 0.0).is_err());
}

#[test]
fn a_winter_bird_belongs_to_the_season_that_began_last_year() {
    let new_year = NaiveDate::from_ymd_opt(2001, 1, 1).unwrap();
    // 2000 was a leap year.
    assert_eq!(counts::day_of_season(new_year, 2000), 367.0);
    assert_eq!(counts::day_of_season(new_year, 2001), 1.0);
    assert_eq!(new_year.year(), 2001);
}
