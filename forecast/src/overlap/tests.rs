use super::kernel::{CircularDensity, KernelError, dhat1, dhat4};
use super::*;
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;
use statrs::distribution::Continuous;

fn normal(mean: f64, sd: f64) -> Normal {
    Normal::new(mean, sd).expect("a normal")
}

fn slow_overlap(a: &Normal, b: &Normal) -> f64 {
    let step = 1e-3;
    let lower = |i: i32| {
        let x = f64::from(i) * step;
        a.pdf(x).min(b.pdf(x))
    };
    (-60_000..60_000).map(lower).sum::<f64>() * step
}

#[test]
fn normals_agree_with_a_sum_over_the_line() {
    let mut random = Pcg64Mcg::seed_from_u64(11);
    for _ in 0..40 {
        let mut one = || {
            normal(
                random.random_range(-9.0..9.0),
                random.random_range(0.5..6.0),
            )
        };
        let (a, b) = (one(), one());
        let (fast, slow) = (of_normals(&a, &b).expect("finite"), slow_overlap(&a, &b));
        assert!((fast - slow).abs() < 1e-6, "{a:?} {b:?}: {fast} {slow}");
        assert!((fast - of_normals(&b, &a).expect("finite")).abs() < 1e-12);
    }
}

#[test]
fn nearly_equal_widths_pass_over_into_equal_ones() {
    let equal = of_normals(&normal(0.0, 4.0), &normal(3.0, 4.0)).expect("finite");
    for gap in [1e-4, 1e-8, 1e-12, 1e-15] {
        let near = of_normals(&normal(0.0, 4.0), &normal(3.0, 4.0 + gap)).expect("finite");
        assert!(
            (near - equal).abs() < 0.1 * gap + 1e-12,
            "{gap}: {near} {equal}"
        );
    }
    let same_mean = of_normals(&normal(5.0, 2.0), &normal(5.0, 2.0 + 1e-9)).expect("finite");
    assert!((same_mean - 1.0).abs() < 1e-8, "{same_mean}");
}

#[test]
fn narrow_von_mises_curves_are_nearly_normal() {
    let kappa = 4e4f64;
    let sd = 1.0 / kappa.sqrt();
    let a = VonMises::new(6.2, kappa).expect("a curve");
    let b = VonMises::new(6.2 + 1.5 * sd, kappa).expect("a curve");
    let line = of_normals(&normal(0.0, 1.0), &normal(1.5, 1.0)).expect("finite");
    assert!((of_von_mises(&a, &b) - line).abs() < 1e-4);
    assert_eq!(VonMises::new(0.0, -1.0), None);
    assert_eq!(VonMises::new(f64::NAN, 1.0), None);
}

fn bump(centre: f64, width: f64, height: f64) -> [f64; DAYS] {
    std::array::from_fn(|i| {
        let z = (i as f64 + 1.0 - centre) / width;
        height * (-0.5 * z * z).exp()
    })
}

#[test]
fn curves_are_compared_by_shape_not_by_numbers() {
    let (few, many) = (bump(120.0, 6.0, 0.2), bump(130.0, 12.0, 900.0));
    let daily = of_curves(&few, &many).expect("birds");
    let line = of_normals(&normal(120.0, 6.0), &normal(130.0, 12.0)).expect("finite");
    assert!((daily - line).abs() < 5e-4, "{daily} {line}");
    assert!((of_curves(&few, &few).expect("birds") - 1.0).abs() < 1e-12);
    assert_eq!(of_curves(&few, &[0.0; DAYS]), None);
    let mut broken = many;
    broken[7] = f64::NAN;
    assert_eq!(of_curves(&few, &broken), None);
}

fn days(pairs: &[(u16, u16)]) -> Vec<(DayOfYear, DayOfYear)> {
    let day = |d: u16| DayOfYear::try_from(d).expect("a day of the year");
    pairs.iter().map(|(a, b)| (day(*a), day(*b))).collect()
}

#[test]
fn stretches_where_both_are_about() {
    let on = |stretches: &[(usize, usize)]| -> [f64; DAYS] {
        let holds = |d: usize| stretches.iter().any(|(a, b)| (*a..=*b).contains(&d));
        std::array::from_fn(|i| if holds(i + 1) { 0.5 } else { 0.1 })
    };
    let a = on(&[(1, 20), (100, 150), (350, 366)]);
    let b = on(&[(1, 10), (120, 130), (140, 200), (360, 366)]);
    let expected = days(&[(120, 130), (140, 150), (360, 10)]);
    assert_eq!(both_at_or_above(&a, &b, 0.5), expected);
    assert_eq!(both_at_or_above(&a, &b, 0.51), vec![]);
    assert_eq!(both_at_or_above(&a, &b, 0.1), days(&[(1, 366)]));
}

#[test]
fn kernels_find_the_overlap_that_dates_were_drawn_from() {
    // von Mises by rejection from an even spread
    let mut random = Pcg64Mcg::seed_from_u64(2);
    let (a, b) = (VonMises::new(2.0, 6.0), VonMises::new(2.8, 10.0));
    let (a, b) = (a.expect("a curve"), b.expect("a curve"));
    let mut drawn = |curve: &VonMises| {
        let mut angles = Vec::new();
        while angles.len() < 600 {
            let angle = random.random_range(0.0..TAU);
            if random.random_range(0.0..2.0) < curve.density(angle) {
                angles.push(angle);
            }
        }
        CircularDensity::new(&angles, TAU, None).expect("spread")
    };
    let (da, db) = (drawn(&a), drawn(&b));
    let truth = of_von_mises(&a, &b);
    // standard error about 0.02
    assert!((dhat1(&da, &db, 512) - truth).abs() < 0.06);
    assert!((dhat4(&da, &db) - truth).abs() < 0.06);
}

#[test]
fn dates_without_spread_have_no_density() {
    let no_spread = |n| Err(KernelError::NoSpread(n));
    assert_eq!(CircularDensity::new(&[], 365.0, None), no_spread(0));
    assert_eq!(CircularDensity::new(&[100.0; 4], 365.0, None), no_spread(4));
    assert!(CircularDensity::new(&[100.0; 4], 365.0, Some(50.0)).is_ok());
    assert!(CircularDensity::new(&[100.0, f64::NAN], 365.0, None).is_err());
    assert!(CircularDensity::new(&[100.0, 120.0], -1.0, None).is_err());
}
