//! A file for sheets, its kind told by its name.

use super::{About, PrintError, Side, pdf, png};
use crate::whole_file;
use std::path::{Path, PathBuf};

/// Dots an inch of a PNG: letters of 7 points are then 15 dots high, which printers do well by.
pub const DOTS_PER_INCH: f64 = 150.0;

/// What kind of file a name asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Svg,
    Png,
    Pdf,
}

/// A file for sheets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PrintFile {
    path: PathBuf,
    kind: Kind,
}

impl PrintFile {
    /// A name that ends in .svg, .png or .pdf.
    ///
    /// # Errors
    /// [`PrintError::Name`] for any other.
    pub fn new(path: &Path) -> Result<Self, PrintError> {
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        let kind = match ending.as_deref() {
            Some("svg") => Kind::Svg,
            Some("png") => Kind::Png,
            Some("pdf") => Kind::Pdf,
            _ => return Err(PrintError::Name(path.to_owned())),
        };
        let path = path.to_owned();
        Ok(PrintFile { path, kind })
    }

    /// Makes all sides, then puts them into their places: in a PDF together, else the second one
    /// in `name-2.svg` and so on. Gives the paths.
    ///
    /// # Errors
    /// A side that cannot be made, before anything is written; a file that cannot be written.
    pub fn write(&self, sides: &[Side], about: &About) -> Result<Vec<PathBuf>, PrintError> {
        let files: Vec<Vec<u8>> = match self.kind {
            Kind::Pdf => vec![pdf(sides, about)?],
            Kind::Svg => sides.iter().map(|s| s.svg.clone().into_bytes()).collect(),
            Kind::Png => {
                let made = sides.iter().map(|s| png(s, DOTS_PER_INCH).map(|p| p.png));
                made.collect::<Result<_, _>>()?
            }
        };
        if files.is_empty() {
            return Err(PrintError::NoSide);
        }
        let paths: Vec<PathBuf> = (1..=files.len()).map(|n| self.numbered(n)).collect();
        for (path, bytes) in paths.iter().zip(&files) {
            whole_file::write(path, bytes).map_err(|cause| PrintError::Write {
                path: path.clone(),
                cause,
            })?;
        }
        Ok(paths)
    }

    /// The name itself for the first.
    fn numbered(&self, number: usize) -> PathBuf {
        let (stem, ending) = (self.path.file_stem(), self.path.extension());
        match (number, stem, ending) {
            (2.., Some(stem), Some(ending)) => {
                let (stem, ending) = (stem.to_string_lossy(), ending.to_string_lossy());
                let name = format!("{stem}-{number}.{ending}");
                self.path.with_file_name(name)
            }
            _ => self.path.clone(),
        }
    }
}
