//! What stops a load, each in one sentence.

use crate::read::fault::FormatError;
use crate::report::Refusal;
use crate::store::StoreError;
use std::path::PathBuf;

/// Why nothing was loaded. The store is as it was.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// The workspace has nothing to load.
    #[error("wingtide.toml lists no [[source]]: add one with the file that holds your counts")]
    NoSources,
    /// The file cannot be opened or read.
    #[error("{file} of source \"{source_id}\" cannot be read: {cause}")]
    Unreadable {
        /// The file.
        file: String,
        /// The source that names it.
        source_id: String,
        /// What the system says.
        cause: std::io::Error,
    },
    /// There is no such file.
    #[error(
        "{file} of source \"{source_id}\" cannot be read: there is no such file in {}{}",
        folder.display(), nearest_words(nearest)
    )]
    NotThere {
        /// The file's name.
        file: String,
        /// The source that names it.
        source_id: String,
        /// The folder that was looked in.
        folder: PathBuf,
        /// The file there whose name is nearest.
        nearest: Option<String>,
    },
    /// The file is larger than is read into memory.
    #[error(
        "{file} is {mib} MiB long; at most {limit_mib} MiB are read at once: split it by years"
    )]
    TooLarge {
        /// The file.
        file: String,
        /// Its length, MiB.
        mib: u64,
        /// The most that is read, MiB.
        limit_mib: u64,
    },
    /// A workbook, an archive or a folder cannot be read.
    #[error(transparent)]
    Format(#[from] FormatError),
    /// The file is not delimited text.
    #[error("{file} is not delimited text but {looks_like}; save it as CSV")]
    NotText {
        /// The file.
        file: String,
        /// What it looks like.
        looks_like: &'static str,
    },
    /// The stated encoding is unknown.
    #[error(
        "source \"{source_id}\" states the encoding \"{label}\", which is none; \
         write \"utf-8\", \"windows-1252\" or leave it out"
    )]
    UnknownEncoding {
        /// The source.
        source_id: String,
        /// What it states.
        label: String,
    },
    /// The bytes are not what the stated encoding allows.
    #[error(
        "{file}, line {line}: not {label} as source \"{source_id}\" states; leave `encoding` out"
    )]
    Encoding {
        /// The file.
        file: String,
        /// First line with such bytes.
        line: u64,
        /// The stated encoding.
        label: String,
        /// The source.
        source_id: String,
    },
    /// No header line, or nothing below it.
    #[error("{file} holds no {what}; the store keeps what it has")]
    Empty {
        /// The file.
        file: String,
        /// What is missing.
        what: &'static str,
    },
    /// A column that the source names is not in the file.
    #[error(transparent)]
    MissingColumn(Box<MissingColumn>),
    /// Two columns answer to the name.
    #[error(
        "{file}, line {line}: more than one column answers to \"{wanted}\" \
         (columns.{key} of source \"{source_id}\"); rename one of them"
    )]
    AmbiguousColumn {
        /// The file.
        file: String,
        /// Line of the header.
        line: u64,
        /// The source.
        source_id: String,
        /// Key under `columns`.
        key: &'static str,
        /// The name written there.
        wanted: String,
    },
    /// A source neither has a site column nor names its site.
    #[error(
        "source \"{source_id}\" has no site: name its column as columns.site, \
         or write site = \"...\" with one of {}",
        quoted(sites)
    )]
    NoSite {
        /// The source.
        source_id: String,
        /// Ids of the workspace's sites.
        sites: Vec<String>,
    },
    /// A source names a site that the workspace does not have.
    #[error(
        "source \"{source_id}\" names the site \"{site}\", but the sites are {}",
        quoted(sites)
    )]
    UnknownSite {
        /// The source.
        source_id: String,
        /// The name written.
        site: String,
        /// Ids of the workspace's sites.
        sites: Vec<String>,
    },
    /// Most dates can only be read in another order.
    #[error(transparent)]
    DateOrder(Box<WrongDateOrder>),
    /// No order of dates is stated and the dates do not show one.
    #[error(transparent)]
    NoDateOrder(#[from] Box<NoDateOrder>),
    /// A column's name states another unit than the settings.
    #[error(transparent)]
    Unit(#[from] Box<WrongUnit>),
    /// Days are too warm for the unit.
    #[error(transparent)]
    WarmDays(#[from] Box<WarmDays>),
    /// A quote opens a cell and never closes.
    #[error("{file}, line {line}: a quote (\") opens a cell here and is never closed")]
    OpenQuote {
        /// The file.
        file: String,
        /// First line of the row.
        line: u64,
    },
    /// Every row was refused.
    #[error("{file}: not one of its rows ({rows}) could be read; the first, {first}")]
    NothingAccepted {
        /// The file.
        file: String,
        /// Rows read.
        rows: u64,
        /// What is wrong with the first.
        first: Box<Refusal>,
    },
    /// The store cannot take it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// A column that a source names and its file lacks.
#[derive(Debug, thiserror::Error)]
#[error(
    "{file}, line {line}: no column \"{wanted}\" (columns.{key} of source \"{source_id}\"); \
     it has {}{}{}",
    quoted(have),
    nearest_words(nearest),
    separator_words(other_separator)
)]
pub struct MissingColumn {
    /// The file.
    pub file: String,
    /// Line of the header.
    pub line: u64,
    /// The source.
    pub source_id: String,
    /// Key under `columns`.
    pub key: &'static str,
    /// The name written there.
    pub wanted: String,
    /// The columns that the file has.
    pub have: Vec<String>,
    /// The one most like the wanted one.
    pub nearest: Option<String>,
    /// A separator with which the column would be found.
    pub other_separator: Option<&'static str>,
}

/// A stated date order that the dates of the file rule out.
#[derive(Debug, thiserror::Error)]
#[error(
    "{file}, line {line}: date_order = \"{stated}\" cannot be, as \"{value}\" is a date only in \
     the order {fits} (rows like it: {rows}; rows that only fit as stated: {rows_stated}); \
     write date_order = \"{fits}\" for source \"{source_id}\""
)]
pub struct WrongDateOrder {
    /// The file.
    pub file: String,
    /// First line that cannot be read as stated.
    pub line: u64,
    /// Its date.
    pub value: String,
    /// The order stated.
    pub stated: &'static str,
    /// The order that fits.
    pub fits: &'static str,
    /// Rows that only the other order fits.
    pub rows: u64,
    /// Rows that only the stated order fits.
    pub rows_stated: u64,
    /// The source.
    pub source_id: String,
}

/// Dates that do not tell their order, where the settings do not either.
#[derive(Debug, thiserror::Error)]
#[error(
    "{file}, line {line}: {why}; write date_order = \"{}\" for source \"{source_id}\"",
    orders.join("\" or \"")
)]
pub struct NoDateOrder {
    /// The file.
    pub file: String,
    /// Line of the date.
    pub line: u64,
    /// The source.
    pub source_id: String,
    /// What is not clear, as a clause.
    pub why: String,
    /// Orders that may be meant.
    pub orders: Vec<&'static str>,
}

impl From<NoDateOrder> for LoadError {
    fn from(error: NoDateOrder) -> Self {
        LoadError::NoDateOrder(Box::new(error))
    }
}

/// A column of temperatures whose name states another unit than the one that it is read in.
#[derive(Debug, thiserror::Error)]
#[error(
    "{file}, line {line}: the column \"{column}\" is in degrees {stated} by its name, and source \
     \"{source_id}\" is read in degrees {read}; write unit = \"{}\" under it, or name the column \
     otherwise",
    &stated[..1]
)]
pub struct WrongUnit {
    /// The file.
    pub file: String,
    /// Line of the header.
    pub line: u64,
    /// The column.
    pub column: String,
    /// The unit in its name.
    pub stated: &'static str,
    /// The unit that the settings state.
    pub read: &'static str,
    /// The source.
    pub source_id: String,
}

impl From<WrongUnit> for LoadError {
    fn from(error: WrongUnit) -> Self {
        LoadError::Unit(Box::new(error))
    }
}

/// Days so warm that a source read in degrees Celsius must be in Fahrenheit.
#[derive(Debug, thiserror::Error)]
#[error(
    "{file}, line {line}: {column} \"{value}\" and the like are warmer than any day in degrees \
     Celsius, and could be degrees Fahrenheit ({too_warm} of {days} temperatures); write unit = \"F\" \
     for source \"{source_id}\" if they are, or mend them"
)]
pub struct WarmDays {
    /// The file.
    pub file: String,
    /// First line of such a day.
    pub line: u64,
    /// Its column.
    pub column: String,
    /// Its temperature.
    pub value: String,
    /// Temperatures that are too warm.
    pub too_warm: u64,
    /// Temperatures read.
    pub days: u64,
    /// The source.
    pub source_id: String,
}

impl From<WarmDays> for LoadError {
    fn from(error: WarmDays) -> Self {
        LoadError::WarmDays(Box::new(error))
    }
}

/// At most this many names stand in a sentence.
const NAMES_SHOWN: usize = 20;

pub(crate) fn quoted(names: &[String]) -> String {
    let shown: Vec<String> = names
        .iter()
        .take(NAMES_SHOWN)
        .map(|n| format!("\"{n}\""))
        .collect();
    match names.len().saturating_sub(NAMES_SHOWN) {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}

fn nearest_words(nearest: &Option<String>) -> String {
    match nearest {
        Some(name) => format!("; the nearest is \"{name}\""),
        None => String::new(),
    }
}

fn separator_words(other: &Option<&'static str>) -> String {
    match other {
        Some(name) => format!("; it is there if {name} separate the columns"),
        None => String::new(),
    }
}
