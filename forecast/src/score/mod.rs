//! Scores of forecasts: the lower the better, all proper (Gneiting & Raftery 2007 JASA
//! 102:359-378), and what goes with them: reliability, comparison, intervals.

pub mod bootstrap;
pub mod brier;
pub mod crps;
pub mod diebold_mariano;
pub mod interval;
pub mod log_score;
pub mod pit;
pub mod reliability;

#[cfg(test)]
mod tests;

/// A chance that was issued, and what came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Issued {
    /// Chance given to the event, 0..=1.
    pub chance: f64,
    /// Did it happen?
    pub happened: bool,
}

impl Issued {
    /// 1 where it happened, else 0.
    pub fn outcome(&self) -> f64 {
        f64::from(u8::from(self.happened))
    }
}

/// Why a score can't be given.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ScoreError {
    /// There is nothing to score.
    #[error("{got} forecasts where at least {needed} are needed")]
    TooFew {
        /// forecasts given
        got: usize,
        /// forecasts needed
        needed: usize,
    },
    /// A chance outside 0..=1, or probabilities that do not sum to 1.
    #[error("{0} is no probability (0 to 1)")]
    NotAProbability(f64),
    /// A forecast, an observation or a score that is not a finite number.
    #[error("{0} is no finite number")]
    NotFinite(f64),
    /// A cumulative distribution must rise from 0..=1 to 1.
    #[error("the distribution falls or stops short of 1 at {at}: {value}")]
    NotACdf {
        /// count at which it went wrong
        at: usize,
        /// P(Y <= at) as given
        value: f64,
    },
    /// The reference, or the scatter that a test divides by, is zero.
    #[error("nothing to compare with: the scores do not vary")]
    NoVariation,
    /// A setting outside its range.
    #[error("{name} is {value}, expected {expected}")]
    Setting {
        /// what was set
        name: &'static str,
        /// to what
        value: f64,
        /// what may be
        expected: &'static str,
    },
}

/// Refuses an empty list and chances outside 0..=1.
fn check_issued(issued: &[Issued]) -> Result<(), ScoreError> {
    at_least(issued.len(), 1)?;
    match issued.iter().find(|i| !(0.0..=1.0).contains(&i.chance)) {
        Some(bad) => Err(ScoreError::NotAProbability(bad.chance)),
        None => Ok(()),
    }
}

/// Refuses fewer than `needed`.
fn at_least(got: usize, needed: usize) -> Result<(), ScoreError> {
    if got < needed {
        return Err(ScoreError::TooFew { got, needed });
    }
    Ok(())
}

/// Refuses anything that is not a finite number.
fn finite(values: &[f64]) -> Result<(), ScoreError> {
    match values.iter().find(|v| !v.is_finite()) {
        Some(bad) => Err(ScoreError::NotFinite(*bad)),
        None => Ok(()),
    }
}
