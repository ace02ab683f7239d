use super::*;
use proptest::prelude::*;

fn params(penalty: f64, l1_ratio: f64, standardise: bool) -> ValidParams {
    Params {
        penalty,
        l1_ratio,
        standardise,
        tolerance: 1e-12,
    }
    .check()
    .unwrap()
}

/// An obvious version: proximal gradient steps on the weighted objective, intercept included.
fn oracle(rows: &Rows, penalty: f64, l1: f64) -> (f64, Vec<f64>) {
    let (n, p) = rows.x.shape();
    let total: f64 = rows.weights.iter().sum();
    let (mut a, mut b) = (0.0, vec![0.0; p]);
    let largest: f64 = (0..n)
        .map(|i| rows.x.row(i).norm_squared())
        .fold(0.0, f64::max)
        + 1.0;
    let pace = 1.0 / (largest + penalty);
    for _ in 0..60_000 {
        let miss: Vec<f64> = (0..n)
            .map(|i| {
                let fitted: f64 = rows.x.row(i).iter().zip(&b).map(|(x, b)| x * b).sum();
                (a + fitted - rows.y[i]) * rows.weights[i] / total
            })
            .collect();
        a -= pace * miss.iter().sum::<f64>();
        for (j, b) in b.iter_mut().enumerate() {
            let slope: f64 = miss
                .iter()
                .zip(rows.x.column(j).iter())
                .map(|(m, x)| m * x)
                .sum();
            let to = *b - pace * (slope + penalty * (1.0 - l1) * *b);
            *b = to.signum() * (to.abs() - pace * penalty * l1).max(0.0);
        }
    }
    (a, b)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn agrees_with_an_obvious_version(
        x in prop::collection::vec(-2.0..2.0_f64, 24),
        y in prop::collection::vec(-5.0..5.0_f64, 8),
        weights in prop::collection::vec(0.2..3.0_f64, 8),
        penalty in 0.05..0.6_f64,
        l1 in prop::sample::select(vec![0.0, 0.3, 0.5, 1.0]),
    ) {
        let rows = Rows::new(DMatrix::from_vec(8, 3, x), y, weights).unwrap();
        let fitted = fit(&rows, &params(penalty, l1, false)).unwrap();
        let (a, b) = oracle(&rows, penalty, l1);
        prop_assert!((fitted.intercept - a).abs() < 1e-6, "{} {a}", fitted.intercept);
        for (f, b) in fitted.coefficients.iter().zip(&b) {
            prop_assert!((f - b).abs() < 1e-6, "{f} {b}");
        }
    }
}

fn rows() -> Rows {
    let x = DMatrix::from_row_slice(
        6,
        3,
        &[
            1.0, 7.0, 0.2, 2.0, 7.0, -1.0, 4.0, 7.0, 0.5, 3.0, 7.0, 2.0, 6.0, 7.0, -0.4, 5.0, 7.0,
            1.0,
        ],
    );
    let y = vec![2.0, 4.5, 7.0, 6.9, 12.1, 9.0];
    Rows::new(x, y, vec![1.0, 2.0, 1.0, 0.5, 1.0, 3.0]).unwrap()
}

#[test]
fn standardised_fits_do_not_care_for_units() {
    let (one, mut other) = (rows(), rows());
    other.x.column_mut(0).scale_mut(1000.0);
    for l1 in [0.0, 0.5, 1.0] {
        let a = fit(&one, &params(0.3, l1, true)).unwrap();
        let b = fit(&other, &params(0.3, l1, true)).unwrap();
        assert!((a.coefficients[0] - 1000.0 * b.coefficients[0]).abs() < 1e-8);
        assert!((a.intercept - b.intercept).abs() < 1e-8);
        assert_eq!(a.coefficients[1], 0.0, "a column that never changes");
    }
}

#[test]
fn all_is_zero_from_the_largest_penalty_on() {
    let rows = rows();
    let most = largest_penalty(&rows, 0.5, true);
    let at = |penalty| fit(&rows, &params(penalty, 0.5, true)).unwrap();
    assert!(at(most * 1.000_001).coefficients.iter().all(|b| *b == 0.0));
    assert_eq!(at(most * 1.000_001).effective_df, 0.0);
    let just_below = at(most * 0.999);
    assert_eq!(
        just_below
            .coefficients
            .iter()
            .filter(|b| **b != 0.0)
            .count(),
        1
    );
}

#[test]
fn wrong_settings_and_rows_are_refused() {
    let raw = Params {
        penalty: -1.0,
        l1_ratio: 0.5,
        standardise: true,
        tolerance: 1e-6,
    };
    assert!(matches!(
        raw.check(),
        Err(ElasticNetError::Setting {
            name: "penalty",
            ..
        })
    ));
    assert!(
        Params {
            penalty: 1.0,
            l1_ratio: 1.5,
            ..raw
        }
        .check()
        .is_err()
    );
    assert!(
        Params {
            penalty: 1.0,
            tolerance: 0.0,
            ..raw
        }
        .check()
        .is_err()
    );
    let x = DMatrix::zeros(2, 1);
    assert!(Rows::new(x.clone(), vec![1.0], vec![1.0; 2]).is_err());
    assert!(Rows::new(x.clone(), vec![1.0; 2], vec![1.0, 0.0]).is_err());
    assert!(Rows::new(x, vec![1.0, f64::NAN], vec![1.0; 2]).is_err());
}

#[test]
fn equal_columns_without_penalty_are_singular() {
    let x = DMatrix::from_row_slice(4, 2, &[1.0, 1.0, 2.0, 2.0, 3.0, 3.0, 5.0, 5.0]);
    let rows = Rows::new(x, vec![1.0, 2.0, 2.0, 4.0], vec![1.0; 4]).unwrap();
    assert_eq!(
        fit(&rows, &params(0.0, 0.5, false)),
        Err(ElasticNetError::Singular)
    );
}
