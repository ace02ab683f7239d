//! Clears away what an interrupted load left in the store's folder.

use super::Store;
use super::error::StoreError;
use rusqlite::{Connection, TransactionBehavior};
use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// End of the name of a file that is being written.
pub(super) const PARTIAL: &str = ".partial";

/// Name of a batch's Parquet file.
pub(super) fn parquet_name(id: i64) -> String {
    format!("batch-{id:06}.parquet")
}

/// Name of the file that takes the place of a batch's: batch-000003.parquet, batch-000003-1.parquet,
/// batch-000003-2.parquet, ...
pub(super) fn rewritten_name(former: &str) -> String {
    let stem = former.strip_suffix(".parquet").unwrap_or(former);
    let numbers = stem.strip_prefix("batch-").unwrap_or(stem);
    match numbers.split_once('-') {
        Some((id, times)) => {
            let times = times.parse::<u64>().unwrap_or_default() + 1;
            format!("batch-{id}-{times}.parquet")
        }
        None => format!("{stem}-1.parquet"),
    }
}

impl Store {
    /// Removes batch files that the ledger does not know. They are looked for first without and
    /// then with the write lock, so that a load in progress is never robbed of its files.
    pub(super) fn sweep(&mut self) -> Result<(), StoreError> {
        if leftovers(&self.conn, &self.folder)?.is_empty() {
            return Ok(());
        }
        let immediate = TransactionBehavior::Immediate;
        let tx = self.conn.transaction_with_behavior(immediate)?;
        for path in leftovers(&tx, &self.folder)? {
            remove(&path)?;
        }
        tx.commit()?;
        Ok(())
    }
}

pub(super) fn remove(path: &Path) -> Result<(), StoreError> {
    match std::fs::remove_file(path) {
        Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => {
            Err(StoreError::disk(path, "removed", cause))
        }
        _ => Ok(()),
    }
}

/// Our own files that no batch names; anything else in the folder is left alone.
pub(super) fn leftovers(conn: &Connection, folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let mut statement = conn.prepare("SELECT parquet FROM batches")?;
    let known = statement.query_map([], |row| row.get(0))?;
    let known: HashSet<String> = known.collect::<Result<_, _>>()?;
    let unreadable = |cause| StoreError::disk(folder, "read", cause);
    let mut leftovers = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let entry = entry.map_err(unreadable)?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if is_ours(&name) && !known.contains(&name) {
            leftovers.push(entry.path());
        }
    }
    Ok(leftovers)
}

fn is_ours(name: &str) -> bool {
    let whole = name.strip_suffix(PARTIAL).unwrap_or(name);
    let number = whole
        .strip_prefix("batch-")
        .and_then(|n| n.strip_suffix(".parquet"));
    let digits = |n: &str| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit());
    number.is_some_and(|n| n.splitn(2, '-').all(digits))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rewritten_batch_has_a_name_of_its_own_that_is_ours() {
        let mut name = parquet_name(3);
        for expected in ["batch-000003-1.parquet", "batch-000003-2.parquet"] {
            name = rewritten_name(&name);
            assert_eq!(name, expected);
            assert!(is_ours(&name) && is_ours(&format!("{name}{PARTIAL}")));
        }
        for other in [
            "batch-.parquet",
            "batch-3-.parquet",
            "batch-3-1-2.parquet",
            "batch-a.parquet",
        ] {
            assert!(!is_ours(other), "{other}");
        }
    }
}
