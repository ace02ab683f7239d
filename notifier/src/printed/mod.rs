//! Sheets for paper: sides drawn as SVG, made into one PDF file or a PNG each.
//!
//! One reading of the SVG and letters of our own serve both, so that every machine and either kind
//! of file show the same. What a side shows is its drawer's affair.

mod error;
mod file;
mod paper;
mod pdf;
#[cfg(test)]
mod tests;

pub use error::PrintError;
pub use file::{DOTS_PER_INCH, PrintFile};
pub use paper::Paper;
pub use pdf::pdf;

use crate::chart::{self, Picture};
use chrono::{DateTime, Utc};

/// One printed side.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// The drawing; it is fitted to the paper with its own proportions, in the middle.
    pub svg: String,
    /// What it is printed on.
    pub paper: Paper,
    /// What it shows, for those who do not see it.
    pub text: String,
}

/// What a file says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct About {
    /// Its title.
    pub title: String,
    /// BCP 47 tag of its words.
    pub language: String,
    /// Whose it is.
    pub author: Option<String>,
    /// When it was made.
    pub made: DateTime<Utc>,
}

/// A side as a PNG with so many dots an inch.
///
/// # Errors
/// [`PrintError::Picture`] where the drawing does not read.
pub fn png(side: &Side, dots_per_inch: f64) -> Result<Picture, PrintError> {
    let width = side.paper.width_mm / paper::MM_PER_INCH * dots_per_inch;
    Ok(chart::picture(&side.svg, width.round() as u32)?)
}
