//! A whole copy of the store as it is at one moment, while loads go on.

use super::error::StoreError;
use super::{LEDGER, Store};
use rusqlite::Connection;
use std::io;
use std::path::Path;

/// Loads that land one after another may each take away a file that was to be copied.
const TRIES: u32 = 10;

impl Store {
    /// Copies the ledger and the file of every batch that it names into an empty folder. A batch's
    /// file never changes, so where the system allows, it is there a second time without a copy.
    ///
    /// # Errors
    ///
    /// [`StoreError::Busy`] where loads kept on taking files away, else whatever cannot be read or
    /// written; the folder may then hold a part.
    pub fn copy_into(&self, folder: &Path) -> Result<(), StoreError> {
        for _ in 0..TRIES {
            if self.try_copy_into(folder)? {
                return Ok(());
            }
        }
        Err(StoreError::Busy)
    }

    /// False where a load took a file away in between.
    fn try_copy_into(&self, folder: &Path) -> Result<bool, StoreError> {
        let ledger = folder.join(LEDGER);
        let disk = |cause| StoreError::Disk {
            path: folder.to_owned(),
            doing: "copied",
            cause,
        };
        remove(&ledger).map_err(disk)?; // SQLite writes to no file that is there
        self.conn
            .execute("VACUUM INTO ?1", [ledger.to_string_lossy()])?;
        let copied = Connection::open(&ledger)?;
        let mut statement = copied.prepare("SELECT parquet FROM batches WHERE parquet <> ''")?;
        let names = statement.query_map([], |row| row.get::<_, String>(0))?;
        let names: Vec<String> = names.collect::<Result<_, _>>()?;
        for name in names {
            match put(&self.folder.join(&name), &folder.join(&name)) {
                Ok(()) => {}
                Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(false),
                Err(cause) => return Err(disk(cause)),
            }
        }
        Ok(true)
    }
}

/// Links a file, or copies it where links are not to be had. One that is there from an earlier try
/// is the same.
fn put(from: &Path, to: &Path) -> io::Result<()> {
    match std::fs::hard_link(from, to) {
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists => Ok(()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Err(e),
        Err(_) => std::fs::copy(from, to).map(drop),
        Ok(()) => Ok(()),
    }
}

fn remove(path: &Path) -> io::Result<()> {
    match std::fs::remove_file(path) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => Err(e),
        _ => Ok(()),
    }
}
