//! The ledger as an older version wrote it, kept beside it before its tables are brought up to date.

use super::error::StoreError;
use super::sweep::PARTIAL;
use rusqlite::Connection;
use std::path::{Path, PathBuf};

/// Where the ledger of that version is kept.
pub(super) fn place(folder: &Path, version: i64) -> PathBuf {
    folder.join(format!("ledger-version-{version}.sqlite"))
}

/// Every ledger of an older version that is kept.
pub(super) fn all(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let unreadable = |cause| StoreError::Disk {
        path: folder.to_owned(),
        doing: "read",
        cause,
    };
    let mut all = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if name.starts_with("ledger-version-") && name.ends_with(".sqlite") {
            all.push(path);
        }
    }
    Ok(all)
}

/// Keeps a whole copy of the ledger, or none.
pub(super) fn keep(conn: &Connection, folder: &Path, version: i64) -> Result<(), StoreError> {
    let place = place(folder, version);
    let mut partial = place.clone().into_os_string();
    partial.push(PARTIAL);
    let partial = PathBuf::from(partial);
    let disk = |cause| StoreError::disk(&place, "written", cause);
    if partial.exists() {
        std::fs::remove_file(&partial).map_err(disk)?; // SQLite writes to no file that is there
    }
    // SQLite's own copy: one made by reading the file could catch it between two writes.
    conn.execute("VACUUM INTO ?1", [partial.to_string_lossy()])?;
    let copied = Connection::open(&partial)?;
    let of: i64 = copied.pragma_query_value(None, "user_version", |row| row.get(0))?;
    drop(copied);
    // Another program may have brought the tables up to date meanwhile, and kept the copy.
    if of != version {
        return std::fs::remove_file(&partial).map_err(disk);
    }
    let file = std::fs::File::open(&partial).map_err(disk)?;
    file.sync_all().map_err(disk)?;
    std::fs::rename(&partial, &place).map_err(disk)
}
