//! The curve's 80 % interval on a day.
//!
//! On the log scale a curve is bounded from above alone where not a bird was found, and its
//! standard error runs wild there. Visits without a bird are better evidence than that.

use super::YearCurve;
use crate::calendar::DAYS;
use crate::negative_binomial::Dispersion;
use crate::series::CountSeries;

/// Half of an 80 % interval of a normal distribution, in standard deviations.
const HALF_OF_80: f64 = 1.281_551_565_545;
/// Days on either side whose visits are taken with a day's own.
const REACH_DAYS: usize = 7;
/// What is left above an 80 % interval.
const ABOVE: f64 = 0.1;

impl YearCurve {
    /// Birds on a standard visit, average year, between which the curve lies with 80 %; by the
    /// day's place in the year, from 0.
    pub fn interval_of_80(&self, day: usize) -> (f64, f64) {
        let (mean, half) = (self.log_mean[day], HALF_OF_80 * self.standard_error[day]);
        let none = self.none_found.get(day).copied().flatten();
        let upper = (mean + half).exp();
        let upper = none.map_or(upper, |bound| upper.min(bound).max(mean.exp()));
        ((mean - half).exp(), upper)
    }
}

/// For each day about which visits found not a bird: the expected count at which so many visits
/// would all have found none in one case of ten.
pub(super) fn none_found(series: &CountSeries, dispersion: Dispersion) -> Vec<Option<f64>> {
    let (mut birds, mut visits) = (vec![0; DAYS], vec![0.0; DAYS]);
    for (visit, count) in series.known() {
        birds[visit.day().index()] += u64::from(count.birds());
        visits[visit.day().index()] += visit.log_effort_ratio.exp();
    }
    let near =
        |day: usize| (0..=2 * REACH_DAYS).map(move |step| (day + DAYS + step - REACH_DAYS) % DAYS);
    let bound = |day: usize| {
        let found: u64 = near(day).map(|d| birds[d]).sum();
        let made: f64 = near(day).map(|d| visits[d]).sum();
        (found == 0 && made > 0.0).then(|| none_in(made, dispersion))
    };
    (0..DAYS).map(bound).collect()
}

/// Solves P(none in so many standard visits) = [`ABOVE`].
fn none_in(visits: f64, dispersion: Dispersion) -> f64 {
    let a_visit = -ABOVE.ln() / visits;
    match dispersion {
        Dispersion::Poisson => a_visit,
        Dispersion::Theta(theta) => theta * (a_visit / theta).exp_m1(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::series::{Count, Visit};
    use crate::year_curve::{Params, fit};
    use chrono::{Days, NaiveDate};
    use std::sync::Arc;

    #[test]
    fn visits_without_a_bird_bound_the_curve() {
        // the rule of three: none in n, and 3/n is the upper 95 % bound (Hanley and Lippman-Hand
        // 1983, JAMA 249: 1743-1745); its like for 90 % is 2.3/n
        assert!((none_in(100.0, Dispersion::Poisson) - 0.023).abs() < 1e-4);
        for (visits, theta) in [(76.0, 0.5), (12.0, 2.0)] {
            let mean = none_in(visits, Dispersion::Theta(theta));
            let none = Dispersion::Theta(theta).zero(mean).powf(visits);
            assert!((none - ABOVE).abs() < 1e-9, "{visits} {theta}: {none}");
        }
    }

    #[test]
    fn where_nothing_was_found_the_interval_is_narrow() {
        let of_year = |year| {
            let first = NaiveDate::from_ymd_opt(year, 3, 1).expect("a date");
            (0..90).step_by(3).map(move |d| first + Days::new(d))
        };
        let visits: Arc<[Visit]> = (2010..2016)
            .flat_map(of_year)
            .map(|date| Visit {
                date,
                log_effort_ratio: 0.0,
            })
            .collect();
        let count = |visit: &Visit| match visit.day().get() {
            115..=125 => Count::Exactly(6),
            _ => Count::Exactly(0),
        };
        let counts = visits.iter().map(count).collect();
        let series = CountSeries::new(visits, counts).expect("a series");
        let curve = fit(&series, &Params::default().check().expect("settings"));
        let curve = curve.expect("a curve").curve;
        let day = 69; // 10 March
        let by_error = (curve.log_mean[day] + HALF_OF_80 * curve.standard_error[day]).exp();
        let (lower, upper) = curve.interval_of_80(day);
        assert!(by_error > 1.0, "{by_error}");
        assert!(lower < curve.log_mean[day].exp() && upper < 0.1, "{upper}");
        let top = 119;
        let by_error = (curve.log_mean[top] + HALF_OF_80 * curve.standard_error[top]).exp();
        assert_eq!(curve.interval_of_80(top).1, by_error);
    }
}
