//! A real link: the ice of a lake goes earlier after a warm end of winter.

use crate::site::{open, params};
use crate::weather::{daily, number, reference};
use forecast::season_shift::SeasonShift;
use forecast::temperature::windows::{Column, Measure, Predictors, Window, columns};
use forecast::temperature::{Candidate, gates};

/// Ice-off of Lake Mendota, 1885-2019: year, day of the year, mean of 15 February to 31 March
/// (North Temperate Lakes LTER: Magnuson, Carpenter & Stanley 2021).
fn ice_off() -> Vec<(i32, f64, f64)> {
    let rows = reference("mendota_iceoff_temp.csv");
    rows.iter()
        .map(|r| (r[0].parse().unwrap(), number(&r[2]), number(&r[3])))
        .collect()
}

/// Days late against 5 April; a date is known to the day.
fn late(ice_off: &[(i32, f64, f64)]) -> Vec<SeasonShift> {
    let to_the_day = (1.0_f64 / 12.0).sqrt();
    ice_off
        .iter()
        .map(|(year, day, _)| SeasonShift::new(*year, day - 95.0, to_the_day).unwrap())
        .collect()
}

#[test]
fn lake_ice_opens_and_reproduces_the_published_regression() {
    let ice = ice_off();
    let window = Window::new(45, 45).unwrap();
    let column = vec![Column {
        window,
        measure: Measure::Mean,
    }];
    let rows = ice
        .iter()
        .map(|(year, _, warmth)| (*year, vec![*warmth]))
        .collect();
    let predictors = Predictors::given(91.0, column, rows).unwrap();
    let site = [Candidate::new(predictors, &late(&ice)).unwrap()];
    let all = gates(&site, &params(999), 1);
    let link = open(&all[0]).expect("the gate opens");
    // statsmodels OLS and R lm (check book 09, iceoff_temp/mean_feb15_mar31/all)
    let agree =
        |found: f64, wanted: f64| assert!((found / wanted - 1.0).abs() < 1e-8, "{found} {wanted}");
    agree(link.slope.line.slope, -3.461_902_252_898_266);
    agree(link.slope.interval.0, -3.932_495_830_272_651);
    agree(link.slope.interval.1, -2.991_308_675_523_881_4);
    agree(link.left_out.baseline_days, 10.819_778_635_102_978);
    let by_line = forecast::straight_line::root_mean_square(&link.slope.line.left_out, &[1.0; 135]);
    agree(by_line, 6.774_271_681_653_023);
    // the net's penalty is chosen anew in each fold and shrinks the slope a little
    assert!(
        (link.left_out.error_days - by_line).abs() < 0.05,
        "{}",
        link.left_out.error_days
    );
    assert_eq!((link.chance, link.seasons), (0.001, 135));
}

#[test]
fn lake_ice_opens_on_windows_of_daily_temperature() {
    let ice: Vec<_> = ice_off().into_iter().filter(|i| i.0 >= 1950).collect();
    let temperature = daily(&reference("madison_daily_temp_jan_apr.csv"));
    let windows = columns(&Window::usual(0), 0.0);
    let predictors = Predictors::new(&temperature, 95.0, windows, 1950..2020).unwrap();
    let all = gates(
        &[Candidate::new(predictors, &late(&ice)).unwrap()],
        &params(999),
        1,
    );
    let link = open(&all[0]).expect("the gate opens");
    // check book 09 finds 7.6 days from the mean of 15 February to 31 March alone, 11.6 without
    assert!(link.left_out.error_days < 7.7, "{:?}", link.left_out);
    assert!(
        (link.slope.line.slope + 3.7).abs() < 0.6,
        "{:?}",
        link.slope
    );
    // the spring of 2012 was warm beyond all others of those years
    let early = link
        .expected(&temperature, 2012)
        .expect("its windows are known");
    assert!(
        early.days < -15.0 && early.sd_days == link.left_out.error_days,
        "{early:?}"
    );
    assert_eq!(link.expected(&temperature, 2030), None);
}
