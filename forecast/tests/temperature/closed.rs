//! What is said of a gate that stays closed, and what is refused.

use crate::link::constructed;
use crate::site::{Site, params, shifts, usual};
use crate::weather::made_up_temperature;
use forecast::temperature::windows::Predictors;
use forecast::temperature::{Candidate, Closed, Gate, Params, ValidParams, gates};
use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;

#[test]
fn gates_say_why_they_stay_closed() {
    let temperature = made_up_temperature(9);
    let site = Site::without_link(1991..2012, &mut Pcg64Mcg::seed_from_u64(3));
    let candidate = |seasons: &[(i32, f64, f64)], years: std::ops::Range<i32>| {
        let predictors = Predictors::new(&temperature, 100.0, usual(), years).unwrap();
        Candidate::new(predictors, &shifts(seasons)).unwrap()
    };
    let all = &site.shifts[0];
    let mut uneven = all.clone();
    (0..uneven.len()).for_each(|i| uneven[i] = (uneven[i].0, 0.1, if i < 2 { 0.1 } else { 8.0 }));
    let candidates = [
        candidate(&all[..7], 1985..2015),
        candidate(all, 2005..2012),
        candidate(&uneven, 1985..2015),
        candidate(all, 1985..2015),
    ];
    let reasons = gates(&candidates, &params(99), 1);
    let words: Vec<String> = reasons
        .iter()
        .map(|g| match g {
            Gate::Closed(why) => why.to_string(),
            Gate::Open(link) => format!("open: {link:?}"),
        })
        .collect();
    assert!(matches!(
        reasons[0],
        Gate::Closed(Closed::TooFewSeasons {
            seasons: 7,
            needed: 8
        })
    ));
    assert!(
        matches!(reasons[1], Gate::Closed(Closed::TooFewTemperatures { .. })),
        "{words:?}"
    );
    assert!(
        matches!(reasons[2], Gate::Closed(Closed::TooUneven { .. })),
        "{words:?}"
    );
    assert!(
        matches!(reasons[3], Gate::Closed(Closed::Chance { .. })),
        "{words:?}"
    );
    assert!(
        words
            .iter()
            .all(|w| w.starts_with("no link with temperature was found: "))
    );
}

#[test]
fn gates_are_the_same_whenever_they_are_asked() {
    let temperature = made_up_temperature(5);
    let once = constructed(&temperature, (28, 28), -3.0, 4);
    assert!(once.is_some());
    assert_eq!(once, constructed(&temperature, (28, 28), -3.0, 4));
}

#[test]
fn a_level_that_the_shuffles_cannot_tell_is_refused() {
    assert_eq!(Params::default().check(), Ok(ValidParams::default()));
    assert!(
        Params {
            level: 0.05,
            shuffles: 18
        }
        .check()
        .is_err()
    );
    assert!(
        Params {
            level: 0.0,
            shuffles: 999
        }
        .check()
        .is_err()
    );
    assert!(
        Params {
            level: 0.05,
            shuffles: 19
        }
        .check()
        .is_ok()
    );
}
