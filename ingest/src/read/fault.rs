//! Why a file cannot be opened as what it is.

use crate::error::quoted;

/// Why a workbook, an archive or a folder cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum FormatError {
    /// The library that reads it gave up, or was stopped.
    #[error("{file} cannot be read as {what}: {why}")]
    Unreadable {
        /// The file.
        file: String,
        /// What it was read as.
        what: &'static str,
        /// A phrase.
        why: String,
    },
    /// It would unpack to more than is held in memory.
    #[error("{file} would unpack to more than {limit_mib} MiB, and was not opened; split it")]
    TooLarge {
        /// The file.
        file: String,
        /// The most that is unpacked, MiB.
        limit_mib: u64,
    },
    /// It unpacks to far more than counts do.
    #[error(
        "{file} unpacks to more than {times} times its size, as no table of counts does, and was \
         not opened; unpack it yourself if it is sound"
    )]
    Bomb {
        /// The file.
        file: String,
        /// The largest sound ratio.
        times: u64,
    },
    /// A line that is no row.
    #[error(
        "{file}, line {line}: longer than {} MiB, as no row of counts is; expected a line for each \
         row",
        crate::read::long_line::LINE_MIB
    )]
    LongLine {
        /// The file.
        file: String,
        /// The line.
        line: u64,
    },
    /// An archive within an archive.
    #[error("{file} is an archive inside an archive; unpack the outer one")]
    Nested {
        /// The inner archive.
        file: String,
    },
    /// More files than a source has.
    #[error("{file} holds more than {limit} files; split it")]
    TooManyFiles {
        /// The folder or archive.
        file: String,
        /// The most.
        limit: usize,
    },
    /// Nothing in it can be read.
    #[error(
        "{file} holds no file that can be read: expected {}",
        crate::read::kind::READ
    )]
    NothingInside {
        /// The folder or archive.
        file: String,
    },
    /// The settings name a sheet or member that is not there.
    #[error(
        "{file} has no {key} \"{wanted}\"; it has {}{}",
        quoted(have),
        nearest_words(nearest)
    )]
    NoSuchPart {
        /// The file.
        file: String,
        /// `sheet` or `member`.
        key: &'static str,
        /// What the settings name.
        wanted: String,
        /// What there is.
        have: Vec<String>,
        /// The one most like it.
        nearest: Option<String>,
    },
    /// No column of a wide table can be read across.
    #[error(
        "{file}, line {line}: no column {what}, as wide = \"{key}\" of source \"{source_id}\" \
         says; it has {}",
        quoted(have)
    )]
    NothingAcross {
        /// The file.
        file: String,
        /// Line of the header.
        line: u64,
        /// The setting.
        key: &'static str,
        /// What was expected of a column, as a verb and its object.
        what: &'static str,
        /// The source.
        source_id: String,
        /// The columns that the file has.
        have: Vec<String>,
    },
    /// Nothing tells the year of a table of months or days.
    #[error(
        "{file} has no one year in its name; name its column as columns.year of source \
         \"{source_id}\", or write year = 2024"
    )]
    NoYear {
        /// The file.
        file: String,
        /// The source.
        source_id: String,
    },
    /// A sheet or member is named where there can be none.
    #[error("source \"{source_id}\" has {key} = \"{wanted}\", but {file} {fault}; leave it out")]
    NoParts {
        /// The file.
        file: String,
        /// The source.
        source_id: String,
        /// `sheet` or `member`.
        key: &'static str,
        /// What the settings name.
        wanted: String,
        /// Why there is none.
        fault: &'static str,
    },
}

fn nearest_words(nearest: &Option<String>) -> String {
    let words = |name| format!("; the nearest is \"{name}\"");
    nearest.as_ref().map_or_else(String::new, words)
}
