//! What is asked of the confined reader, and what it hands back.

use serde::{Deserialize, Serialize};

/// Memory that the reading may take, MiB.
pub(super) const MEMORY_MIB: u64 = 1024;

/// Rows that it may write for one table, MiB.
pub(super) const ROWS_MIB: u64 = 1024;

/// Time that it may take, seconds.
pub(super) const SECONDS: u64 = 120;

/// Exit code of a reader that found no room for its rows, nor maybe for words about it.
pub(super) const NO_ROOM: u8 = 3;

pub(super) const TASK: &str = "task";
pub(super) const INPUT: &str = "input";
pub(super) const TABLES: &str = "tables";
pub(super) const REFUSED: &str = "refused";

/// The file with the rows of a table.
pub(super) fn rows_file(place: usize) -> String {
    format!("{place}.rows")
}

/// What the input is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) enum What {
    Xlsx,
    Ods,
    Parquet,
}

impl What {
    /// As a sentence names it.
    pub(crate) fn name(self) -> &'static str {
        match self {
            What::Xlsx => "an .xlsx workbook",
            What::Ods => "an .ods workbook",
            What::Parquet => "a Parquet file",
        }
    }
}

/// What is asked.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Task {
    pub(super) what: What,
    /// The one sheet that is wanted; all where None.
    pub(super) sheet: Option<String>,
}

/// What was read.
#[derive(Debug, Default, Serialize, Deserialize)]
pub(crate) struct Tables {
    /// Tables in the order of the file: a workbook's sheets that hold anything.
    pub(crate) names: Vec<String>,
    /// All sheets that there are.
    pub(crate) sheets: Vec<String>,
}
