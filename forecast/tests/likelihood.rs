//! Derivatives of the log likelihood of a count against central differences.

use forecast::negative_binomial::{Dispersion, ln_tail};
use forecast::series::Count;
use forecast::year_curve::likelihood::{Row, full_row, step_row};

const H: f64 = 1e-4;
/// Central differences of this step are good to about 1e-7 of the next derivatives; for "at
/// least", some of ours are differences themselves, of an incomplete beta function.
const CLOSE: f64 = 2e-5;

const KINDS: [Count; 9] = [
    Count::Exactly(0),
    Count::Exactly(1),
    Count::Exactly(37),
    Count::About(12),
    Count::AtLeast(0),
    Count::AtLeast(1),
    Count::AtLeast(5),
    Count::AtLeast(40),
    Count::Present,
];

fn points() -> impl Iterator<Item = (Count, f64, Dispersion)> {
    let thetas = [0.05, 0.5, 3.0, 80.0, 1e6].map(Dispersion::Theta);
    let dispersions = thetas.into_iter().chain([Dispersion::Poisson]);
    let etas = [-5.0, -1.0, 0.3, 2.0, 4.0];
    dispersions
        .flat_map(move |d| etas.into_iter().map(move |e| (e, d)))
        .flat_map(|(e, d)| KINDS.into_iter().map(move |c| (c, e, d)))
}

/// Leaves out "at least" where it is all but impossible: a difference of rounding errors.
fn possible((count, eta, d): &(Count, f64, Dispersion)) -> bool {
    match count {
        Count::AtLeast(n) => ln_tail(*n, eta.exp(), *d) > -25.0,
        _ => true,
    }
}

fn row(count: Count, eta: f64, d: Dispersion) -> Row {
    full_row(count, eta, d).expect("a count that tells something")
}

fn close(name: &str, point: &(Count, f64, Dispersion), exact: f64, difference: f64) {
    let off = (exact - difference).abs();
    assert!(
        off < CLOSE * (1.0 + exact.abs()),
        "{name} at {point:?}: {exact}, by differences {difference}"
    );
}

#[test]
fn slopes_by_eta() {
    for point in points().filter(possible) {
        let (c, e, d) = point;
        let at = row(c, e, d);
        let (up, down) = (row(c, e + H, d), row(c, e - H, d));
        let by = |f: fn(&Row) -> f64| (f(&up) - f(&down)) / (2.0 * H);
        close("slope", &point, at.slope, by(|r| r.value));
        close("weight", &point, at.weight, -by(|r| r.slope));
        close("weight_slope", &point, at.weight_slope, by(|r| r.weight));
    }
}

#[test]
fn slopes_by_log_theta() {
    for point in points().filter(possible) {
        let (c, e, d) = point;
        if d == Dispersion::Poisson {
            continue;
        }
        let at = row(c, e, d);
        let (up, down) = (row(c, e, d.scaled(H)), row(c, e, d.scaled(-H)));
        let by = |f: fn(&Row) -> f64| (f(&up) - f(&down)) / (2.0 * H);
        close("by_tau", &point, at.by_tau, by(|r| r.value));
        close("slope_by_tau", &point, at.slope_by_tau, by(|r| r.slope));
        close("weight_by_tau", &point, at.weight_by_tau, by(|r| r.weight));
        let wide = 5e-3;
        let slope = |shift| row(c, e, d.scaled(shift)).by_tau;
        let bend = (slope(wide) - slope(-wide)) / (2.0 * wide);
        let off = (at.by_tau_tau - bend).abs() / (1.0 + bend.abs());
        assert!(
            off < 5e-5,
            "by_tau_tau at {point:?}: {} {bend}",
            at.by_tau_tau
        );
    }
}

/// The value is the log probability, what neither mean nor theta's own terms change left out.
#[test]
fn values_are_log_probabilities() {
    for (count, eta, d) in points() {
        let found = row(count, eta, d).value;
        let (n, exact) = match count {
            Count::Exactly(n) | Count::About(n) => (n, true),
            other => (other.birds(), false),
        };
        let wanted = if exact {
            let factorial: f64 = (1..=n).map(|i| f64::from(i).ln()).sum();
            d.ln_pmf(n, eta.exp()) - d.ln_rising(n) + factorial
        } else {
            ln_tail(n, eta.exp(), d)
        };
        assert!(
            (found - wanted).abs() < 1e-9 * (1.0 + wanted.abs()),
            "{count:?} {eta} {d:?}: {found} {wanted}"
        );
    }
}

#[test]
fn short_and_full_forms_agree() {
    for (count, eta, d) in points() {
        let (value, slope, weight) = step_row(count, eta, d).expect("a count");
        let full = row(count, eta, d);
        for (a, b) in [
            (value, full.value),
            (slope, full.slope),
            (weight, full.weight),
        ] {
            assert!(
                (a - b).abs() <= 1e-12 * (1.0 + b.abs()),
                "{count:?} {eta} {d:?}"
            );
        }
    }
    assert!(full_row(Count::Unknown, 0.0, Dispersion::Poisson).is_none());
    assert!(step_row(Count::Unknown, 0.0, Dispersion::Poisson).is_none());
}
