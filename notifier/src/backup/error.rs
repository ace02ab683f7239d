//! What keeps a workspace from being backed up or restored, each in one sentence.

use crate::service::tables::TablesError;
use config::ConfigError;
use ingest::StoreError;
use std::io;
use std::path::{Path, PathBuf};

/// Why nothing was written.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// The settings are wrong.
    #[error(transparent)]
    Config(#[from] ConfigError),
    /// The store cannot be copied.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The service's tables cannot be copied.
    #[error(transparent)]
    Tables(#[from] TablesError),
    /// A file stands where the archive was to go.
    #[error("{} is there already, and a backup overwrites nothing; name another file", .0.display())]
    There(PathBuf),
    /// Something stands where the workspace was to go.
    #[error(
        "{} is not empty, and a restore overwrites nothing; name a new folder with --into",
        .0.display()
    )]
    NotEmpty(PathBuf),
    /// A file cannot be read or written.
    #[error("{} cannot be {doing}: {cause}", path.display())]
    Disk {
        /// Which.
        path: PathBuf,
        /// What was tried.
        doing: &'static str,
        /// What the system says.
        cause: io::Error,
    },
    /// The file is no backup.
    #[error("{} is no backup of a workspace: {why}", path.display())]
    NoBackup {
        /// The file.
        path: PathBuf,
        /// Why not.
        why: String,
    },
    /// A later version of the program wrote it.
    #[error(
        "{} was made by a newer Wingtide ({version}) in a form that this one does not know; use \
         that one", path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// The version that wrote it.
        version: String,
    },
    /// A file in it is not what it was.
    #[error("{} is damaged: {file} in it {why}; nothing was restored", path.display())]
    Damaged {
        /// The archive.
        path: PathBuf,
        /// The file in it.
        file: String,
        /// What is wrong.
        why: String,
    },
}

pub(super) fn disk(path: &Path, doing: &'static str) -> impl FnOnce(io::Error) -> BackupError {
    let path = path.to_owned();
    move |cause| BackupError::Disk { path, doing, cause }
}
