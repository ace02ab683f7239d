//! Whether a species that has not been seen for long is still there.

use super::{EndpointError, check_alpha};

/// Is it still there? Sightings at random moments of the time watched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StillThere {
    /// Sightings counted.
    pub sightings: usize,
    /// Time from the start of the watch to the last sighting: also the end by maximum likelihood.
    pub last: f64,
    /// Time watched.
    pub watched: f64,
    /// Probability of a silence at least this long if it is still there, (last / watched)^n.
    pub p_value: f64,
    /// The end without bias, last (n + 1) / n.
    pub unbiased: f64,
    /// It ended no later than this with probability 1 - alpha: last / alpha^(1/n).
    pub upper: f64,
    /// Odds in favour of *still there* that the sightings add to prior odds,
    /// (n - 1) / ((watched / last)^(n - 1) - 1); None for a single sighting.
    pub bayes_factor: Option<f64>,
}

/// Solow 1993 Ecology 74:962-964. `times` since the start of the watch, each above 0 and at most
/// `watched`.
pub fn still_there(times: &[f64], watched: f64, alpha: f64) -> Result<StillThere, EndpointError> {
    check_alpha(alpha)?;
    if times.is_empty() {
        return Err(EndpointError::TooFew { got: 0, needed: 1 });
    }
    if let Some(bad) = times.iter().find(|t| !(**t > 0.0 && **t <= watched)) {
        return Err(EndpointError::NotUsable {
            name: "a sighting",
            value: *bad,
            expected: "after the start and no later than the end of the watch",
        });
    }
    let n = times.len() as f64;
    let last = times.iter().copied().fold(0.0, f64::max);
    Ok(StillThere {
        sightings: times.len(),
        last,
        watched,
        p_value: (last / watched).powf(n),
        unbiased: last * (n + 1.0) / n,
        upper: last / alpha.powf(1.0 / n),
        bayes_factor: (times.len() > 1).then(|| (n - 1.0) / ((watched / last).powf(n - 1.0) - 1.0)),
    })
}

/// As [`still_there`], where nobody can say when the watch began: the first sighting sets the
/// start and no longer counts as one.
pub fn still_there_since_first(
    sightings: &[f64],
    until: f64,
    alpha: f64,
) -> Result<StillThere, EndpointError> {
    let mut sorted = sightings.to_vec();
    sorted.sort_by(f64::total_cmp);
    let (first, rest) = sorted
        .split_first()
        .ok_or(EndpointError::TooFew { got: 0, needed: 2 })?;
    let times: Vec<f64> = rest.iter().map(|t| t - first).collect();
    still_there(&times, until - first, alpha)
}
