//! Where there is no link, gates stay closed.

use crate::site::{Site, open, params};
use crate::weather::{made_up_temperature, real_temperature};
use forecast::temperature::daily::DailyTemperature;
use forecast::temperature::gates;
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

/// Sites of 200 seeded shuffles of the years that open a gate.
fn falsely_opened(temperature: &DailyTemperature) -> usize {
    let site = Site::without_link(1991..2012, &mut Pcg64Mcg::seed_from_u64(11));
    let opens = |seed: &u64| {
        let mut years: Vec<i32> = (1991..2012).collect();
        years.shuffle(&mut Pcg64Mcg::seed_from_u64(*seed));
        let candidates = site.candidates(temperature, |y| years[(y - 1991) as usize]);
        gates(&candidates, &params(199), seed + 1000)
            .iter()
            .any(|g| open(g).is_some())
    };
    (0..200_u64).into_par_iter().filter(opens).count()
}

#[test]
fn shuffled_years_of_real_weather_open_hardly_any_site() {
    let Some(temperature) = real_temperature() else {
        return;
    };
    let opened = falsely_opened(&temperature);
    println!("{opened} of 200 shuffles open a gate");
    // 5 % of 200 is 10; more than 18 would come by chance in 4 of 1000 (binomial)
    assert!(opened <= 18, "{opened}");
}

#[test]
fn shuffled_years_of_made_up_weather_open_hardly_any_site() {
    let opened = falsely_opened(&made_up_temperature(5));
    println!("{opened} of 200 shuffles open a gate");
    assert!(opened <= 18, "{opened}");
}
