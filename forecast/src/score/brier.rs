//! The Brier score of chances and its parts.

use super::{Issued, ScoreError, at_least, check_issued};

/// The Brier score and Murphy's decomposition of it over the distinct chances that were issued:
/// brier = reliability - resolution + uncertainty (Murphy 1973 J. Appl. Meteor. 12:595-600).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Brier {
    /// Mean squared difference of chance and outcome (1 or 0).
    pub brier: f64,
    /// How far frequencies lay from the chances; 0 is perfect.
    pub reliability: f64,
    /// How far frequencies of different chances lay from the overall one; more is better.
    pub resolution: f64,
    /// What saying the overall frequency every time would have scored.
    pub uncertainty: f64,
}

impl Brier {
    /// 1 - brier / uncertainty: the gain over saying the overall frequency every time. None where
    /// the event always or never happened.
    pub fn skill(&self) -> Option<f64> {
        (self.uncertainty > 0.0).then(|| 1.0 - self.brier / self.uncertainty)
    }

    /// 1 - brier / reference: the gain over another forecast of the same events. None where that
    /// one was perfect.
    pub fn skill_against(&self, reference: &Brier) -> Option<f64> {
        (reference.brier > 0.0).then(|| 1.0 - self.brier / reference.brier)
    }
}

/// Mean squared difference of chance and outcome.
pub fn score(issued: &[Issued]) -> Result<f64, ScoreError> {
    check_issued(issued)?;
    let total: f64 = issued.iter().map(of_one).sum();
    Ok(total / issued.len() as f64)
}

/// The score of one chance.
pub fn of_one(issued: &Issued) -> f64 {
    (issued.chance - issued.outcome()).powi(2)
}

/// The score of chances of several outcomes of which one comes, 0 (sure and right) to 2 (sure and
/// wrong): the sum of the squared differences, as first defined (Brier 1950 Mon. Weather Rev.
/// 78:1-3), which for two outcomes is twice [`of_one`].
///
/// # Errors
/// Chances outside 0..=1 or that do not sum to 1, and an outcome that is none of them.
pub fn of_several(chances: &[f64], came: usize) -> Result<f64, ScoreError> {
    at_least(chances.len(), 2)?;
    if let Some(bad) = chances.iter().find(|c| !(0.0..=1.0).contains(*c)) {
        return Err(ScoreError::NotAProbability(*bad));
    }
    let sum: f64 = chances.iter().sum();
    // the chances of a percent each, added up, are off by less
    if (sum - 1.0).abs() > 1e-9 {
        return Err(ScoreError::NotAProbability(sum));
    }
    if came >= chances.len() {
        return Err(ScoreError::Setting {
            name: "the outcome",
            value: came as f64,
            expected: "the place of one of the chances",
        });
    }
    let outcome = |place: usize| f64::from(u8::from(place == came));
    let off = chances.iter().enumerate().map(|(i, c)| c - outcome(i));
    Ok(off.map(|off| off * off).sum())
}

/// The score with its parts.
pub fn decompose(issued: &[Issued]) -> Result<Brier, ScoreError> {
    let brier = score(issued)?;
    let n = issued.len() as f64;
    let overall = frequency(issued);
    let mut sorted = issued.to_vec();
    sorted.sort_by(|a, b| a.chance.total_cmp(&b.chance));
    let (mut reliability, mut resolution) = (0.0, 0.0);
    for alike in sorted.chunk_by(|a, b| a.chance == b.chance) {
        let (weight, came) = (alike.len() as f64 / n, frequency(alike));
        reliability += weight * (alike[0].chance - came).powi(2);
        resolution += weight * (came - overall).powi(2);
    }
    Ok(Brier {
        brier,
        reliability,
        resolution,
        uncertainty: overall * (1.0 - overall),
    })
}

fn frequency(issued: &[Issued]) -> f64 {
    issued.iter().map(Issued::outcome).sum::<f64>() / issued.len() as f64
}
