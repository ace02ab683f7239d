//! How surprising the records of past seasons were.

use super::scene::Scene;
use chrono::NaiveDate;
use config::settings::Workspace;
use ingest::store::SiteHistory;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Years looked back over.
const LAST_YEARS: usize = 5;
/// Scores kept: questions a week go no further down than this.
const KEPT: usize = 2_000;

/// The records of a site's past seasons, taken as true.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Past {
    /// First and last year looked back over; None where too few years lie before any.
    pub years: Option<(i32, i32)>,
    /// Mondays of the weeks with a visit in them.
    pub weeks: BTreeSet<NaiveDate>,
    /// Records judged.
    pub records: usize,
    /// Their highest scores, the highest first.
    pub highest: Vec<f64>,
}

impl Past {
    /// From a site's counts.
    pub fn of(workspace: &Workspace, history: &SiteHistory) -> Self {
        let scene = Scene::new(workspace, history);
        let years = scene.years();
        let years = &years[years.len().saturating_sub(LAST_YEARS)..];
        let all = scene.records(|_, _| true);
        let scores = years.par_iter().flat_map(|year| scene.judge(*year, &all));
        let mut scores: Vec<f64> = scores.map(|(_, judged)| judged.score).collect();
        scores.sort_by(|a, b| b.total_cmp(a));
        let span = years.first().copied().zip(years.last().copied());
        Past {
            years: span,
            weeks: span.map(|span| scene.weeks(span)).unwrap_or_default(),
            records: scores.len(),
            highest: scores.into_iter().take(KEPT).collect(),
        }
    }
}
