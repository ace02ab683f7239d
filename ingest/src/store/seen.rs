//! What stood for the content of each source's file when it was last looked at.

use super::Store;
use super::error::StoreError;
use rusqlite::{Transaction, params};

/// A source's file as it was looked at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct SeenFile {
    pub(crate) source: String,
    /// What stands for its content.
    pub(crate) stamp: String,
    /// SHA-256 of its content.
    pub(crate) file_sha256: String,
}

impl Store {
    /// The files that were looked at last.
    pub(crate) fn seen_files(&self) -> Result<Vec<SeenFile>, StoreError> {
        let mut statement = self
            .conn
            .prepare("SELECT source, stamp, file_sha256 FROM seen_files")?;
        let rows = statement.query_map([], |row| {
            Ok(SeenFile {
                source: row.get(0)?,
                stamp: row.get(1)?,
                file_sha256: row.get(2)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Keeps how files looked whose content is what it was.
    pub(crate) fn keep_seen<'f>(
        &mut self,
        seen: impl Iterator<Item = &'f SeenFile>,
    ) -> Result<(), StoreError> {
        let mut seen = seen.peekable();
        if seen.peek().is_none() {
            return Ok(());
        }
        let tx = self.conn.transaction()?;
        insert(&tx, seen)?;
        Ok(tx.commit()?)
    }
}

pub(super) fn insert<'f>(
    tx: &Transaction<'_>,
    seen: impl Iterator<Item = &'f SeenFile>,
) -> Result<(), StoreError> {
    for file in seen {
        tx.execute(
            "INSERT OR REPLACE INTO seen_files (source, stamp, file_sha256) VALUES (?1, ?2, ?3)",
            params![file.source, file.stamp, file.file_sha256],
        )?;
    }
    Ok(())
}
