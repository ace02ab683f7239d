//! Degree days against a slow oracle: the mean of the daily temperature curve, point by point.

use chrono::NaiveDate;
use forecast::degree_days::{
    Accumulated, CutOff, DayTemperature, DegreeDayError, Method, Params, degree_days,
};
use proptest::prelude::*;

/// What a temperature is worth, by the cut-off.
fn worth(t: f64, lower: f64, upper: Option<(f64, CutOff)>) -> f64 {
    let above = (t - lower).max(0.0);
    match upper {
        Some((u, CutOff::Horizontal)) if t > u => u - lower,
        Some((u, CutOff::Intermediate)) if t > u => above - 2.0 * (t - u),
        Some((u, CutOff::Vertical)) if t > u => 0.0,
        _ => above,
    }
}

fn oracle(method: Method, max: f64, min: f64, lower: f64, upper: Option<(f64, CutOff)>) -> f64 {
    let n = 40_000;
    let (mean, half) = ((max + min) / 2.0, (max - min) / 2.0);
    let temperature = |i: usize| {
        // half a day from the lowest to the highest; the other half is its mirror image
        let part = (i as f64 + 0.5) / n as f64;
        match method {
            Method::SingleSine => mean + half * (std::f64::consts::PI * (part - 0.5)).sin(),
            _ => min + part * (max - min),
        }
    };
    (0..n)
        .map(|i| worth(temperature(i), lower, upper))
        .sum::<f64>()
        / n as f64
}

fn cut_off() -> impl Strategy<Value = Option<CutOff>> {
    prop_oneof![
        Just(None),
        Just(Some(CutOff::Horizontal)),
        Just(Some(CutOff::Intermediate)),
        Just(Some(CutOff::Vertical)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn closed_forms_are_means_of_the_daily_curve(
        min in -15.0..35.0f64, range in 0.0..25.0f64, lower in -5.0..15.0f64, gap in 1.0..20.0f64,
        kind in cut_off(), sine in any::<bool>(),
    ) {
        let method = if sine { Method::SingleSine } else { Method::SingleTriangle };
        let upper = kind.map(|k| (lower + gap, k));
        let params = Params { method, lower, upper }.check().expect("thresholds");
        let day = DayTemperature::new(min + range, min).expect("a day");
        let slow = oracle(method, min + range, min, lower, upper);
        // the vertical cut-off jumps, which costs the oracle a point of its grid
        prop_assert!((degree_days(day, &params) - slow).abs() < 2e-3, "{} {slow}", degree_days(day, &params));
    }
}

fn date(day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2024, 2, day).expect("a date")
}

#[test]
fn sums_are_read_off_by_date() {
    let params = Params {
        method: Method::Average,
        lower: 5.0,
        upper: None,
    };
    let params = params.check().expect("thresholds");
    let of = |mean: f64| DayTemperature::from_mean(mean).expect("a day");
    let days: Vec<_> = (1..=5)
        .zip([6.0, 4.0, 8.0, 5.0, 7.5])
        .map(|(d, t)| (date(d), of(t)))
        .collect();
    let sums = Accumulated::over(&days, &params).expect("sums");
    assert_eq!(sums.through(date(3)), Some(4.0));
    assert_eq!(sums.through(date(6)), None);
    assert_eq!(sums.total(), 6.5);
    assert_eq!(sums.first_reaching(4.0), Some(date(3)));
    assert_eq!(sums.first_reaching(6.6), None);
    // a hole in the series is no day without warmth
    let holed = [days[0], days[1], days[3]];
    assert_eq!(
        Accumulated::over(&holed, &params),
        Err(DegreeDayError::Gap(date(3)))
    );
}

#[test]
fn wrong_settings_are_refused() {
    let check = |method, lower, upper| {
        Params {
            method,
            lower,
            upper,
        }
        .check()
    };
    assert!(check(Method::SingleSine, f64::NAN, None).is_err());
    assert!(check(Method::SingleSine, 10.0, Some((10.0, CutOff::Vertical))).is_err());
    assert!(
        check(
            Method::SingleSine,
            10.0,
            Some((f64::INFINITY, CutOff::Vertical))
        )
        .is_err()
    );
    assert!(check(Method::Average, 10.0, Some((30.0, CutOff::Horizontal))).is_err());
    assert!(
        check(
            Method::McMasterWilhelm2,
            10.0,
            Some((30.0, CutOff::Vertical))
        )
        .is_err()
    );
    let error = DayTemperature::new(3.0, 4.0).expect_err("upside down");
    assert_eq!(
        error.to_string(),
        "3 cannot be the highest temperature of a day whose lowest is 4"
    );
}
