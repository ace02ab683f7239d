//! The smoothing criterion's gradient against central differences, with and without year
//! effects, at and off the Poisson limit, with counts of every kind.

use forecast::series::Count;
use forecast::year_curve::basis::{BSpline, CubicSpline, CyclicBasis};
use forecast::year_curve::design::Observation;
use forecast::year_curve::newton::Coefficients;
use forecast::year_curve::reml::{Evaluation, Hyper, Model, Priors};
use forecast::year_curve::smooth::{Positions, centring, model};
use nalgebra::{DVector, Vector3};
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// Two passages a year, counts that scatter; every tenth count uncertain where asked for.
fn example(basis: &impl CyclicBasis, groups: usize, uncertain: bool) -> Model {
    let mut random = Pcg64Mcg::seed_from_u64(11);
    let x: Vec<f64> = (0..240).map(|i| f64::from(i % 60) / 60.0).collect();
    let positions = Positions::new(&x);
    let centred = centring(basis, &positions);
    let count = |x: f64, random: &mut Pcg64Mcg| {
        let mean = (1.5 * (4.0 * std::f64::consts::PI * x).sin()).exp();
        let n = (mean * -random.random_range(1e-3..1.0f64).ln()) as u32;
        match random.random_range(0..20) {
            0 if uncertain => Count::AtLeast(n),
            1 if uncertain && n > 0 => Count::Present,
            2 if uncertain => Count::About(n),
            _ => Count::Exactly(n),
        }
    };
    let rows: Vec<Observation> = (0..x.len())
        .map(|i| Observation {
            row: positions.index[i],
            group: i / 60,
            offset: if i % 3 == 0 { 0.4 } else { -0.1 },
            count: count(x[i], &mut random),
        })
        .collect();
    model(basis, &centred, &positions, groups, &rows).expect("a model")
}

fn evaluate(model: &Model, hyper: Hyper) -> Evaluation {
    let start = Coefficients {
        beta: DVector::zeros(model.design.width()),
        groups: DVector::zeros(model.design.groups()),
    };
    model.evaluate(hyper, start).expect("a fit")
}

fn check(name: &str, model: &Model, hyper: Hyper) {
    let exact = evaluate(model, hyper).gradient;
    let h = 1e-4;
    let moving = [true, model.design.groups() > 0, hyper.log_theta.is_some()];
    for i in (0..3).filter(|i| moving[*i]) {
        let mut step = Vector3::zeros();
        step[i] = h;
        let up = evaluate(model, hyper.moved(&step)).value;
        let down = evaluate(model, hyper.moved(&-step)).value;
        let difference = (up - down) / (2.0 * h);
        assert!(
            (exact[i] - difference).abs() < 2e-6 * (1.0 + exact[i].abs()),
            "{name}, parameter {i} at {hyper:?}: {}, by differences {difference}",
            exact[i]
        );
    }
}

fn hypers() -> Vec<Hyper> {
    let mut all = Vec::new();
    for log_lambda in [-9.0, -4.0, 1.0] {
        for log_theta in [Some(-1.0), Some(0.7), Some(5.0), None] {
            all.push(Hyper {
                log_lambda,
                log_precision: 1.0,
                log_theta,
            });
        }
    }
    all
}

#[test]
fn gradients_agree_with_differences() {
    let knots: Vec<f64> = (0..12).map(|i| f64::from(i) / 11.0).collect();
    let cubic = CubicSpline::new(&knots).expect("knots");
    let wrapped = BSpline::new(10).expect("segments");
    for groups in [0, 4] {
        for uncertain in [false, true] {
            let name = format!("{groups} groups, uncertain {uncertain}");
            for hyper in hypers() {
                check(&name, &example(&cubic, groups, uncertain), hyper);
                check(&name, &example(&wrapped, groups, uncertain), hyper);
            }
        }
    }
}

#[test]
fn beliefs_enter_the_gradient() {
    let knots: Vec<f64> = (0..9).map(|i| f64::from(i) / 8.0).collect();
    let basis = CubicSpline::new(&knots).expect("knots");
    let mut model = example(&basis, 4, false);
    model.priors = Priors {
        log_theta: Some((-0.7, 1.0)),
        log_precision: Some((0.5, 0.8)),
        ..Priors::default()
    };
    for hyper in hypers() {
        check("with beliefs", &model, hyper);
    }
}

/// How the coefficients move with each parameter, by the implicit function theorem.
#[test]
fn moves_agree_with_differences() {
    let knots: Vec<f64> = (0..9).map(|i| f64::from(i) / 8.0).collect();
    let model = example(&CubicSpline::new(&knots).expect("knots"), 4, true);
    let hyper = hypers()[5];
    let moves = evaluate(&model, hyper).moves;
    for (i, moved) in moves.iter().enumerate() {
        let mut step = Vector3::zeros();
        step[i] = 1e-4;
        let up = evaluate(&model, hyper.moved(&step)).coefficients;
        let down = evaluate(&model, hyper.moved(&-step)).coefficients;
        let beta = (&moved.beta - (up.beta - down.beta) / 2e-4).amax();
        let groups = (&moved.groups - (up.groups - down.groups) / 2e-4).amax();
        assert!(
            beta < 1e-5 && groups < 1e-5,
            "parameter {i}: {beta} {groups}"
        );
    }
}
