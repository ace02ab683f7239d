//! Ways for a season to go, the same for all species and sites: early or late, with few birds or
//! many.
//!
//! The standing of a species' season is a normal of shift and level. Scenario (i, j) takes the
//! i-th of five points of the shift and the j-th of what the shift leaves open of the level, for
//! every species at every site: a season that is late is late everywhere. That gives what the
//! visits share more weight than independence would, and so promises no more than is likely. One
//! scenario more is the climatology of the last five years, with the weight that it has in the
//! forecast.

use crate::outlook::{Constants, Issued};
use crate::passage::predictive::NODES_5;
use crate::passage::season::Standing;
use chrono::NaiveDate;

/// Scenarios of the season's standing: five shifts times five levels.
const OF_STANDING: usize = NODES_5.len() * NODES_5.len();
/// All scenarios.
pub const SCENARIOS: usize = OF_STANDING + 1;

/// The scenarios' probabilities.
pub fn probabilities(constants: &Constants) -> Vec<f64> {
    let pairs = NODES_5
        .iter()
        .flat_map(|a| NODES_5.iter().map(|b| a.1 * b.1));
    let standing = pairs.map(|p| (1.0 - constants.pool) * p);
    standing.chain([constants.pool]).collect()
}

/// Level and shift of each scenario of a standing.
fn ways(standing: &Standing, lift: f64) -> impl Iterator<Item = (f64, f64)> {
    let shift_sd = standing.shift_variance.max(1e-12).sqrt();
    let slope = standing.covariance / shift_sd;
    let rest = (standing.level_variance - slope * slope).max(0.0).sqrt();
    let (level, shift) = (standing.level - lift, standing.shift);
    NODES_5.iter().flat_map(move |(z, _)| {
        let way = move |(e, _): &(f64, f64)| (level + slope * z + rest * e, shift + shift_sd * z);
        NODES_5.iter().map(way)
    })
}

impl Issued<'_> {
    /// The chance that a visit finds none of a species, by scenario. A species without a curve on
    /// the date has the climatology's in all of them.
    pub fn none_by_scenario(&self, species: usize, date: NaiveDate, log_effort: f64) -> Vec<f64> {
        let recent = self.none_recently(species, date);
        let Some((curve, standing, offset)) = self.standing(species, date) else {
            return vec![recent; SCENARIOS];
        };
        let none = |(level, shift): (f64, f64)| {
            let log_mean = curve.log_mean(offset - shift) + level + log_effort;
            curve.dispersion.zero(log_mean.exp())
        };
        ways(&standing, self.lift())
            .map(none)
            .chain([recent])
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scenarios_have_the_standings_moments() {
        let standing = Standing {
            level: 0.4,
            shift: -3.0,
            level_variance: 0.5,
            shift_variance: 4.0,
            covariance: 0.6,
        };
        let constants = Constants {
            pool: 0.0,
            ..Constants::default()
        };
        let weights = probabilities(&constants);
        let all: Vec<(f64, f64)> = ways(&standing, 0.1).collect();
        let mean = |value: &dyn Fn(&(f64, f64)) -> f64| -> f64 {
            all.iter().zip(&weights).map(|(w, p)| p * value(w)).sum()
        };
        // five points integrate polynomials to the ninth degree exactly
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
        close(weights.iter().sum(), 1.0);
        close(mean(&|w| w.0), 0.3);
        close(mean(&|w| w.1), -3.0);
        close(mean(&|w| (w.0 - 0.3).powi(2)), 0.5);
        close(mean(&|w| (w.1 + 3.0).powi(2)), 4.0);
        close(mean(&|w| (w.0 - 0.3) * (w.1 + 3.0)), 0.6);
    }
}
