//! Why there is no plan.

use chrono::NaiveDate;
use forecast::plan::{ReachError, RulesError};
use std::io;
use std::path::PathBuf;

/// Why there is no plan, or why it cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum PlanError {
    /// The last date lies before the first.
    #[error("the plan ends on {to}, before it begins on {from}")]
    Backwards {
        /// first date
        from: NaiveDate,
        /// last date
        to: NaiveDate,
    },
    /// Longer than a year, in which a date of the year comes twice.
    #[error("the plan goes from {from} to {to}; a year is the most")]
    TooLong {
        /// first date
        from: NaiveDate,
        /// last date
        to: NaiveDate,
    },
    /// Rules that make no sense.
    #[error("{0}")]
    Rules(#[from] RulesError),
    /// Forecasts that are no chances.
    #[error("the forecasts cannot be planned with: {0}")]
    Reach(#[from] ReachError),
    /// Nothing to look for.
    #[error("there is no target: no species was ever recorded at {0}")]
    NoTarget(String),
    /// Of none of the targets, by name, is a chance told.
    #[error("there is nothing to plan by: no chance can be told of {0}, as {finds}", finds = crate::words::FINDS_ALONE)]
    FindsAlone(String),
    /// Dates that nobody may choose.
    #[error("no date is left to choose from between {from} and {to}: {why}")]
    NoDate {
        /// first date
        from: NaiveDate,
        /// last date
        to: NaiveDate,
        /// in words
        why: String,
    },
    /// The sun does not do this there.
    #[error("{0}")]
    Sun(#[from] forecast::sun::NoSun),
    /// A file of tide times that does not read.
    #[error("{}{}: {problem}", path.display(), line.map(|l| format!(", line {l}")).unwrap_or_default())]
    Tides {
        /// the file
        path: PathBuf,
        /// where in it
        line: Option<u64>,
        /// what is wrong and what was expected
        problem: String,
    },
    /// The kept plan does not read.
    #[error("the plan kept in {} cannot be read ({cause}); move it away to begin a new one", path.display())]
    Kept {
        /// the file
        path: PathBuf,
        /// what is wrong
        cause: String,
    },
    /// A file that cannot be written.
    #[error("{} cannot be written: {cause}", path.display())]
    Write {
        /// the file
        path: PathBuf,
        /// what the system says
        cause: io::Error,
    },
    /// Words that cannot be made to fit on a field sheet.
    #[error("the field sheets cannot be made: {0}")]
    Sheet(#[from] crate::handout::HandoutError),
    /// A template that is wrong.
    #[error("the field sheets cannot be made: {0}")]
    Template(#[from] minijinja::Error),
}
