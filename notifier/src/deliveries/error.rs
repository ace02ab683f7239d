//! Why nothing can be delivered at all; what happens to a single delivery is its state.

use crate::digest::DigestError;
use crate::service::tables::TablesError;
use std::path::PathBuf;

/// Why deliveries cannot be queued, sent or looked at.
#[derive(Debug, thiserror::Error)]
pub enum DeliveryError {
    /// The tables cannot be used.
    #[error(transparent)]
    Tables(#[from] TablesError),
    /// A digest cannot be rendered.
    #[error(transparent)]
    Digest(#[from] DigestError),
    /// A file of ours cannot be used.
    #[error("{} cannot be {doing}: {cause}", path.display())]
    Disk {
        /// Which.
        path: PathBuf,
        /// What was tried.
        doing: &'static str,
        /// What the system says.
        cause: std::io::Error,
    },
    /// The file that marks and links are made with is none of ours.
    #[error(
        "{} does not hold 64 hexadecimal digits; restore it from a backup, or remove it: then the \
         links in digests that went out no longer work", .0.display()
    )]
    NoKey(PathBuf),
    /// Somebody else sends.
    #[error("another wingtide is sending deliveries of this workspace; they go out from there")]
    Busy,
    /// Settings that sending needs are missing, or their files cannot be used.
    #[error("{0}")]
    Settings(String),
    /// The disk is full.
    #[error(
        "the disk is full or cannot be written: what became of {0} deliveries is not recorded; \
         make room, then send again: these go out a second time, under the same Message-ID"
    )]
    Full(usize),
    /// What a row holds was not written by this version.
    #[error("the tables hold {0}, which this version does not know")]
    Unknown(String),
}

impl From<rusqlite::Error> for DeliveryError {
    fn from(error: rusqlite::Error) -> Self {
        DeliveryError::Tables(error.into())
    }
}
