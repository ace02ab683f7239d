//! How the files behind the pages look, so that an unchanged store is not read again.

use crate::plan::kept;
use ingest::STORE_FOLDER;
use std::path::Path;
use std::time::SystemTime;

/// Length and time of each file; None where it is not there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Stamp([Option<(u64, Option<SystemTime>)>; 5]);

impl Stamp {
    /// Of the settings, of the ledger with what SQLite may keep beside it, and of the kept plan.
    pub(crate) fn of(dir: &Path) -> Self {
        let ledger = |end: &str| dir.join(STORE_FOLDER).join(format!("ledger.sqlite{end}"));
        let files = [
            dir.join("wingtide.toml"),
            ledger(""),
            ledger("-wal"),
            ledger("-journal"),
            kept::place(dir),
        ];
        Stamp(files.map(|file| {
            let about = std::fs::metadata(file).ok()?;
            Some((about.len(), about.modified().ok()))
        }))
    }
}
