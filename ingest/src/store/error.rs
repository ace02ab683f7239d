//! What stops the use of a store, each in one sentence.

use crate::error::quoted;
use crate::full;
use chrono::NaiveDate;
use std::path::{Path, PathBuf};

/// Why a store cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Nothing was loaded so far.
    #[error("nothing is loaded yet ({} is not there): run `wingtide load` first", .0.display())]
    Absent(PathBuf),
    /// All that was loaded was undone or taken out.
    #[error(
        "nothing is in use: every batch was undone or taken out; change the files and run \
         `wingtide load`, or run `wingtide load --again` to take them as they are"
    )]
    Emptied,
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
    /// There is no room for it.
    #[error(
        "the disk is full: the store's {} could not be written, and the store is as it was; make \
         room on the disk that holds the folder wingtide-store, and run the command again",
        .0.display()
    )]
    Full(PathBuf),
    /// The disk refuses the ledger.
    #[error(
        "the store's ledger could not be read or written ({0}), and the store is as it was; make \
         room on its disk, or see whether the disk is sound, and run the command again"
    )]
    LedgerDisk(rusqlite::Error),
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
    /// An answer to a second look is dated where none can be.
    #[error(
        "an answer dated {answer} cannot be about the record of {record}; expected a day from the \
         record's to today, {today}"
    )]
    AnswerDay {
        /// The day given.
        answer: NaiveDate,
        /// The record's.
        record: NaiveDate,
        /// At the record's site.
        today: NaiveDate,
    },
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

impl StoreError {
    /// A folder or file of the store that could not be made, written, read or removed.
    pub(super) fn disk(path: &Path, doing: &'static str, cause: std::io::Error) -> Self {
        let path = path.to_owned();
        match full::is_full(&cause) {
            true => StoreError::Full(path),
            false => StoreError::Disk { path, doing, cause },
        }
    }
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode::{DatabaseBusy, DatabaseLocked, DiskFull, SystemIoFailure};
        match error.sqlite_error_code() {
            Some(DatabaseBusy | DatabaseLocked) => StoreError::Busy,
            Some(DiskFull) => StoreError::Full(PathBuf::from(super::LEDGER)),
            Some(SystemIoFailure) => StoreError::LedgerDisk(error),
            _ => StoreError::Ledger(error),
        }
    }
}
