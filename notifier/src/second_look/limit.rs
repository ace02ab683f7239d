//! Where questions begin.

use super::past::Past;
use chrono::NaiveDate;
use forecast::second_look::threshold;
use serde::Serialize;
use std::collections::BTreeSet;

/// The score from which records are asked about, and what it would have asked in past seasons.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limit {
    /// Records that score more are asked about.
    pub score: f64,
    /// Questions about true records that the settings put up with in a week of visits.
    pub false_questions_a_week: f64,
    /// First and last year looked back over.
    pub years: (i32, i32),
    /// Weeks with a visit in them.
    pub weeks: usize,
    /// Records in them.
    pub records: usize,
    /// Those that would have been asked about.
    pub would_have_asked: usize,
}

impl Limit {
    /// From the past of all sites together; None where no site has seasons enough.
    pub fn of(past: &[Past], a_week: f64) -> Option<Self> {
        let weeks: BTreeSet<&NaiveDate> = past.iter().flat_map(|p| &p.weeks).collect();
        let scores: Vec<f64> = past.iter().flat_map(|p| &p.highest).copied().collect();
        let questions = (a_week * weeks.len() as f64).floor() as usize;
        let threshold = threshold::at_most(&scores, questions)?;
        let years = || past.iter().filter_map(|p| p.years);
        Some(Limit {
            score: threshold.score,
            false_questions_a_week: a_week,
            years: (years().map(|y| y.0).min()?, years().map(|y| y.1).max()?),
            weeks: weeks.len(),
            records: past.iter().map(|p| p.records).sum(),
            would_have_asked: threshold.asked,
        })
    }
}
