//! Why there is no backtest.

use forecast::score::ScoreError;
use std::path::PathBuf;

/// Why there is no backtest, or none that could be kept.
#[derive(Debug, thiserror::Error)]
pub enum BacktestError {
    /// The years stand the wrong way round.
    #[error("the first year, {from}, comes after the last, {to}")]
    Years {
        /// First year asked for.
        from: i32,
        /// Last year asked for.
        to: i32,
    },
    /// Nothing can be learnt from no year.
    #[error("a history of {0} years teaches nothing, expected 1 or more")]
    History(i32),
    /// The stretches of the year hold no Monday.
    #[error("no Monday lies in the stretches of the year that were asked for")]
    NoMonday,
    /// Nothing was counted.
    #[error("no species has been counted at {sites}")]
    NoSpecies {
        /// The sites' ids.
        sites: String,
    },
    /// Nothing to learn from.
    #[error(
        "no species had {least_birds} birds at any site before {year}, so there is nothing to \
         forecast from{}", first_year(*.first)
    )]
    NothingBefore {
        /// Last year asked for.
        year: i32,
        /// Birds that are needed.
        least_birds: u64,
        /// First year that could be tested.
        first: Option<i32>,
    },
    /// Nobody looked.
    #[error(
        "there is no visit in the weeks to be forecast from {from} to {to}{}", visits(*.visited)
    )]
    NoVisits {
        /// First year asked for.
        from: i32,
        /// Last year asked for.
        to: i32,
        /// Years of the first and last visit.
        visited: Option<(i32, i32)>,
    },
    /// Counts that make no series.
    #[error(transparent)]
    Store(#[from] ingest::store::StoreError),
    /// A forecast that can't be scored.
    #[error("a forecast can't be scored: {0}")]
    Score(#[from] ScoreError),
    /// The file of predictions.
    #[error("cannot write the predictions to {}: {source}", .path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The name of the chart's file.
    #[error("{} is no name for a chart, expected one that ends in .png or .svg", .0.display())]
    ChartName(PathBuf),
    /// A chart that can't be drawn.
    #[error(transparent)]
    Chart(#[from] crate::chart::ChartError),
    /// The chart's file.
    #[error("cannot write the chart to {}: {source}", .path.display())]
    WriteChart {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A row of it.
    #[error("a prediction cannot be written down: {0}")]
    Row(#[from] csv::Error),
}

fn first_year(first: Option<i32>) -> String {
    first.map_or_else(String::new, |y| {
        format!("; the first year that can be tested is {y}")
    })
}

fn visits(visited: Option<(i32, i32)>) -> String {
    visited.map_or_else(String::new, |(a, b)| {
        format!("; visits begin in {a} and end in {b}")
    })
}
