//! One service a workspace: whoever serves it holds a lock, which ends with its process.

use super::tables::TablesError;
use chrono::{DateTime, Utc};
use ingest::STORE_FOLDER;
use std::fs::{File, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::{Path, PathBuf};

const FILE: &str = "service.lock";

/// Held while it lives.
#[derive(Debug)]
pub struct Lock {
    file: File,
}

/// Why the lock cannot be had.
#[derive(Debug, thiserror::Error)]
pub enum LockError {
    /// Another service has it.
    #[error("another Wingtide serves this workspace already{}", told(.0))]
    Held(String),
    /// The file cannot be used.
    #[error(transparent)]
    Disk(#[from] TablesError),
}

fn told(holder: &str) -> String {
    match holder {
        "" => String::new(),
        holder => format!(" ({holder})"),
    }
}

impl Lock {
    /// Takes the lock of a workspace.
    ///
    /// # Errors
    /// [`LockError::Held`] where another service has it, with what that one wrote of itself.
    pub fn take(workspace_root: &Path, now: DateTime<Utc>) -> Result<Lock, LockError> {
        let folder = workspace_root.join(STORE_FOLDER);
        let path = folder.join(FILE);
        std::fs::create_dir_all(&folder).map_err(disk(&folder, "made"))?;
        let file = File::options()
            .create(true)
            .truncate(false)
            .read(true)
            .write(true)
            .open(&path)
            .map_err(disk(&path, "opened"))?;
        let mut lock = Lock { file };
        match lock.file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(LockError::Held(lock.holder())),
            Err(TryLockError::Error(cause)) => return Err(disk(&path, "locked")(cause).into()),
        }
        let since = now.format("%-d %B %Y, %H:%M UTC");
        let words = format!("process {}, since {since}", std::process::id());
        lock.write(&words).map_err(disk(&path, "written"))?;
        Ok(lock)
    }

    /// What the holder wrote of itself, where the system lets others read it.
    fn holder(&mut self) -> String {
        let mut words = String::new();
        match self.file.read_to_string(&mut words) {
            Ok(_) => words.trim().to_owned(),
            Err(_) => String::new(),
        }
    }

    fn write(&mut self, words: &str) -> std::io::Result<()> {
        self.file.set_len(0)?;
        self.file.rewind()?;
        self.file.write_all(words.as_bytes())?;
        self.file.flush()
    }
}

fn disk(path: &Path, doing: &'static str) -> impl FnOnce(std::io::Error) -> TablesError {
    let path: PathBuf = path.to_owned();
    move |cause| TablesError::Disk { path, doing, cause }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_one_is_told_who_holds_it_until_the_first_lets_go() {
        let root = tempfile::tempdir().expect("a folder");
        let now = "2026-09-07T05:30:00Z".parse().expect("an instant");
        let first = Lock::take(root.path(), now).expect("the lock");
        let error = Lock::take(root.path(), now).expect_err("held").to_string();
        let who = format!(
            "process {}, since 7 September 2026, 05:30 UTC",
            std::process::id()
        );
        assert!(error.contains(&who), "{error}");
        drop(first);
        Lock::take(root.path(), now).expect("the lock is free again");
    }
}
