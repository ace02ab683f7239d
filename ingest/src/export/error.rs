//! Why nothing could be passed on.

use crate::full;
use crate::store::StoreError;
use std::path::PathBuf;

/// Why nothing could be passed on.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The store is damaged.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Every site is withheld.
    #[error("every site is sensitive = \"withhold\" in wingtide.toml; nothing is left to pass on")]
    NothingLeft,
    /// A folder with things in it that no export has made.
    #[error(
        "{} holds things that no export has made; name a new folder, or one that an export made",
        .0.display()
    )]
    NotOurs(PathBuf),
    /// There is no room for it.
    #[error(
        "the disk is full: {} could not be written, and nothing was passed on; make room there \
         and run the command again",
        .0.display()
    )]
    Full(PathBuf),
    /// A file or folder could not be written.
    #[error("{}: cannot write what is passed on: {cause}", path.display())]
    Write {
        /// Which.
        path: PathBuf,
        /// Why.
        cause: std::io::Error,
    },
}

impl ExportError {
    pub(super) fn write(path: impl Into<PathBuf>, cause: impl Into<std::io::Error>) -> Self {
        let (path, cause) = (path.into(), cause.into());
        match full::is_full(&cause) {
            true => ExportError::Full(path),
            false => ExportError::Write { path, cause },
        }
    }
}
