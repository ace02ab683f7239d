//! What can go wrong between a drawing and its file.

use crate::chart::ChartError;
use krilla::error::KrillaError;
use std::io;
use std::path::PathBuf;

/// Why a sheet is not printed.
#[derive(Debug, thiserror::Error)]
pub enum PrintError {
    /// A name that asks for no kind of file that is known.
    #[error("{} is no name for a sheet; expected it to end in .svg, .png or .pdf", .0.display())]
    Name(PathBuf),
    /// Nothing to print.
    #[error("there is no side to print")]
    NoSide,
    /// Paper without a size.
    #[error("paper of {width_mm} by {height_mm} mm is no size")]
    Paper {
        /// Millimetres across.
        width_mm: f64,
        /// Millimetres down.
        height_mm: f64,
    },
    /// A drawing that does not read, or a picture that cannot be made of it.
    #[error(transparent)]
    Picture(#[from] ChartError),
    /// A PDF that cannot be made.
    #[error("the PDF cannot be made: {0}")]
    Pdf(String),
    /// A file that cannot be written.
    #[error("{} cannot be written: {cause}", path.display())]
    Write {
        /// the file
        path: PathBuf,
        /// what the system says
        cause: io::Error,
    },
}

impl From<KrillaError> for PrintError {
    fn from(error: KrillaError) -> Self {
        PrintError::Pdf(error.to_string())
    }
}
