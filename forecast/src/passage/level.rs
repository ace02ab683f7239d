//! The level of the season to come: how many times the usual numbers, on the log scale.
//!
//! Levels drift, most of all with effort that nobody wrote down. The site's shared levels of
//! past seasons follow a local level model (Harvey 1989, Forecasting, Structural Time Series
//! Models and the Kalman Filter, section 2.2), averaged over its variances by likelihood.

/// Variance added to each species' own estimate of a season's level before they are pooled:
/// species differ for reasons of their own (trial on 2006-2011).
const OWN_VARIANCE: f64 = 0.3;
/// Drift variances a year that are averaged over (trial on 2006-2011).
const DRIFTS: [f64; 6] = [0.0025, 0.01, 0.03, 0.06, 0.12, 0.25];
/// Variances of single seasons about the drifting level that are averaged over (the same trial).
const SCATTERS: [f64; 5] = [0.02, 0.05, 0.1, 0.2, 0.35];

/// A quantity on the log scale with its variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Mean.
    pub mean: f64,
    /// Variance.
    pub variance: f64,
}

/// A past season's shared level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonLevel {
    /// When, in years; half years apart for spring and autumn.
    pub time: f64,
    /// The level shared by the site's species.
    pub level: Level,
}

/// Pools the species' own estimates of one season. None without any.
pub fn shared(own: &[Level]) -> Option<Level> {
    let weights: Vec<f64> = own
        .iter()
        .map(|l| 1.0 / (l.variance + OWN_VARIANCE))
        .collect();
    let total: f64 = weights.iter().sum();
    if total <= 0.0 {
        return None;
    }
    let mean = own
        .iter()
        .zip(&weights)
        .map(|(l, w)| l.mean * w)
        .sum::<f64>()
        / total;
    Some(Level {
        mean,
        variance: 1.0 / total,
    })
}

/// The level of a season at `time`, from seasons before it in order of time.
pub fn forecast(past: &[SeasonLevel], time: f64) -> Level {
    let runs: Vec<(f64, Level)> = DRIFTS
        .iter()
        .flat_map(|q| SCATTERS.iter().map(|r| (*q, *r)))
        .map(|(drift, scatter)| filter(past, time, drift, scatter))
        .collect();
    let best = runs
        .iter()
        .map(|(l, _)| *l)
        .fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = runs.iter().map(|(l, _)| (l - best).exp()).collect();
    let total: f64 = weights.iter().sum();
    let average = |value: &dyn Fn(&Level) -> f64| -> f64 {
        runs.iter()
            .zip(&weights)
            .map(|((_, level), w)| value(level) * w / total)
            .sum()
    };
    let mean = average(&|l| l.mean);
    let square = average(&|l| l.variance + l.mean * l.mean);
    Level {
        mean,
        variance: square - mean * mean,
    }
}

/// Kalman filter of the local level; gives the log likelihood and the forecast.
fn filter(past: &[SeasonLevel], time: f64, drift: f64, scatter: f64) -> (f64, Level) {
    let mut state = Level {
        mean: 0.0,
        variance: 1.0,
    };
    let mut clock = past.first().map_or(time, |s| s.time);
    let mut log_likelihood = 0.0;
    for season in past {
        state.variance += drift * (season.time - clock);
        clock = season.time;
        let total = state.variance + scatter + season.level.variance;
        let surprise = season.level.mean - state.mean;
        log_likelihood -=
            0.5 * ((std::f64::consts::TAU * total).ln() + surprise * surprise / total);
        let gain = state.variance / total;
        state.mean += gain * surprise;
        state.variance *= 1.0 - gain;
    }
    state.variance += drift * (time - clock) + scatter;
    (log_likelihood, state)
}
