//! The Brier score of chances and its parts.

use super::{Issued, ScoreError, check_issued};

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
