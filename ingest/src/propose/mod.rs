//! Proposes settings for a file from its own header and rows.
//!
//! What the file cannot tell stands in the proposal as [`FILL_IN`], which the loader refuses until
//! somebody has written the truth in its place.

mod columns;
mod doubts;
mod names;
mod region;
mod settings;
mod sheet;
mod sites;
mod top;
mod words;

use columns::Columns;
use config::settings::Species;
use names::Names;
use sheet::Sheet;
use sites::FoundSite;
use std::path::{Path, PathBuf};

pub use config::FILL_IN;

/// What a file could tell of itself.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// The file as the settings name it.
    file: String,
    sheet_told: SheetTold,
    columns: Columns,
    names: Names,
    sites: Vec<FoundSite>,
    time_zone: Option<String>,
}

/// How the file is written.
#[derive(Debug, Clone)]
struct SheetTold {
    header: Vec<String>,
    /// Its line in the file, from 1.
    header_line: u64,
    rows: usize,
    /// Most rows have a cell that no column's name stands above.
    is_short: bool,
    separator: u8,
    /// Where it is not UTF-8.
    encoding: Option<&'static str>,
}

/// Why nothing can be proposed.
#[derive(Debug, thiserror::Error)]
pub enum ProposeError {
    /// The file cannot be read.
    #[error("{} cannot be read: {cause}", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// Why.
        cause: std::io::Error,
    },
    /// It is no text.
    #[error("{} is not delimited text; save the sheet as CSV and propose from that", .0.display())]
    NotText(PathBuf),
    /// Nothing below a header.
    #[error("{} holds no rows below a header line", .0.display())]
    Empty(PathBuf),
}

/// Reads `file` and proposes settings for it; `named` is how they are to name it, and `time_zone`
/// the zone to propose, such as that of this computer. `species` are known besides those of the
/// shipped look-alike sets.
///
/// # Errors
///
/// [`ProposeError`] where the file is no delimited text with rows.
pub fn propose(
    file: &Path,
    named: &str,
    time_zone: Option<&str>,
    species: &[Species],
) -> Result<Proposal, ProposeError> {
    let sheet = Sheet::read(file)?;
    let known = names::known(species);
    let columns = Columns::choose(&sheet, &known);
    Ok(Proposal {
        file: named.to_owned(),
        names: Names::find(&sheet, &columns, &known),
        sites: sites::find(&sheet, &columns),
        columns,
        time_zone: time_zone.map(str::to_owned),
        sheet_told: SheetTold {
            is_short: sheet.has_short_header(),
            header: sheet.header,
            header_line: sheet.header_line,
            rows: sheet.rows.len(),
            separator: sheet.separator,
            encoding: sheet.encoding,
        },
    })
}

impl Proposal {
    /// Is everything there that a load needs?
    pub fn is_ready(&self) -> bool {
        !self.toml().contains(FILL_IN)
    }
}
