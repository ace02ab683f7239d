//! What stops a load or the use of a store, each in one sentence.

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
    #[error(
        "{file}, line {line}: no column \"{wanted}\" (columns.{key} of source \"{source_id}\"); \
         it has {}{}{}",
        quoted(have),
        nearest_words(nearest),
        separator_words(other_separator)
    )]
    MissingColumn {
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
        /// The columns that the file has.
        have: Vec<String>,
        /// The one most like the wanted one.
        nearest: Option<String>,
        /// A separator with which the column would be found.
        other_separator: Option<&'static str>,
    },
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
    #[error(
        "{file}, line {line}: date_order = \"{stated}\" cannot be, as \"{value}\" is a date only in \
         the order {fits} (rows like it: {rows}; rows that only fit as stated: {rows_stated}); \
         write date_order = \"{fits}\" for source \"{source_id}\""
    )]
    DateOrder {
        /// The file.
        file: String,
        /// First line that cannot be read as stated.
        line: u64,
        /// Its date.
        value: String,
        /// The order stated.
        stated: &'static str,
        /// The order that fits.
        fits: &'static str,
        /// Rows that only the other order fits.
        rows: u64,
        /// Rows that only the stated order fits.
        rows_stated: u64,
        /// The source.
        source_id: String,
    },
    /// A quote opens a cell and never closes.
    #[error("{file}, line {line}: a quote (\") opens a cell here and is never closed")]
    OpenQuote {
        /// The file.
        file: String,
        /// First line of the row.
        line: u64,
    },
    /// Every row was refused.
    #[error(
        "{file}: none of its {rows} rows could be read; the first, line {line}, because \
         {column} \"{value}\" is {reason}"
    )]
    NothingAccepted {
        /// The file.
        file: String,
        /// Rows read.
        rows: u64,
        /// Line of the first.
        line: u64,
        /// Its column.
        column: String,
        /// What stands there.
        value: String,
        /// Why it was refused.
        reason: String,
    },
    /// The store cannot take it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Why a store cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Nothing was loaded so far.
    #[error("nothing is loaded yet ({} is not there): run `wingtide load` first", .0.display())]
    Absent(PathBuf),
    /// The folder or a file in it cannot be read or written.
    #[error("the store's {} cannot be {doing}: {cause}", path.display())]
    Disk {
        /// Folder or file.
        path: PathBuf,
        /// What was tried.
        doing: &'static str,
        /// What the system says.
        cause: std::io::Error,
    },
    /// A later version of the program wrote it.
    #[error(
        "the store {} was written by a newer Wingtide (its version {found}, this one knows \
         {known}): use that one, or move the folder away and run `wingtide load`",
        path.display()
    )]
    Newer {
        /// The store's folder.
        path: PathBuf,
        /// Version found.
        found: i64,
        /// Last version known.
        known: i64,
    },
    /// Another program holds it.
    #[error("the store is in use by another Wingtide; wait until it is done and try again")]
    Busy,
    /// The sources changed in the store while a load was reading its files.
    #[error("another load changed the store meanwhile; run `wingtide load` again")]
    Overtaken,
    /// The ledger is damaged or no ledger.
    #[error(
        "the store's ledger cannot be used ({0}); move the folder wingtide-store away and run \
         `wingtide load`"
    )]
    Ledger(rusqlite::Error),
    /// The ledger's tables cannot be brought up to date.
    #[error("the store's ledger cannot be brought up to date: {0}")]
    Migration(rusqlite_migration::Error),
    /// A report or fit in the ledger is not what this version writes.
    #[error(
        "the store's ledger holds what this version cannot read ({0}); run `wingtide load` and `wingtide fit`"
    )]
    Json(serde_json::Error),
    /// A batch is missing or damaged.
    #[error(
        "the store's {file} is missing or damaged ({why}); move the folder wingtide-store away \
         and run `wingtide load`"
    )]
    Batch {
        /// File of the batch.
        file: String,
        /// What is wrong.
        why: String,
    },
    /// The site is none of the workspace's.
    #[error("there is no site \"{site}\"; the sites are {}", quoted(sites))]
    UnknownSite {
        /// What was asked for.
        site: String,
        /// Ids of the workspace's sites.
        sites: Vec<String>,
    },
    /// The counts of one visit are too many for a count.
    #[error(
        "the counts of {species} at {site} on {date} add up to more than {} birds",
        u32::MAX
    )]
    TooManyBirds {
        /// Scientific name.
        species: String,
        /// Site id.
        site: String,
        /// The visit.
        date: chrono::NaiveDate,
    },
    /// The visits and counts do not make a series.
    #[error("the counts at {site} make no series: {cause}")]
    Series {
        /// Site id.
        site: String,
        /// What is wrong.
        cause: forecast::series::SeriesError,
    },
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode::{DatabaseBusy, DatabaseLocked};
        match error.sqlite_error_code() {
            Some(DatabaseBusy | DatabaseLocked) => StoreError::Busy,
            _ => StoreError::Ledger(error),
        }
    }
}

/// At most this many names stand in a sentence.
const NAMES_SHOWN: usize = 20;

fn quoted(names: &[String]) -> String {
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
