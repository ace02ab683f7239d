//! What an archive holds: every file with its length and SHA-256.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

/// Its name in the archive.
pub(super) const NAME: &str = "manifest.json";

/// The form of archives that is written here.
pub(super) const FORM: u32 = 1;

/// The manifest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Manifest {
    /// The form of the archive.
    pub(super) form: u32,
    /// The program's version.
    pub(super) version: String,
    /// The workspace's name.
    pub(super) workspace: String,
    /// When it was made.
    pub(super) made_at: DateTime<Utc>,
    /// Every file but this one.
    pub(super) files: Vec<Entry>,
}

/// A file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Entry {
    /// Where it lies below the workspace, with slashes.
    pub(super) path: String,
    /// Its length.
    pub(super) bytes: u64,
    /// Its fingerprint, in hexadecimal.
    pub(super) sha256: String,
}

/// SHA-256 in hexadecimal.
pub(super) fn hexadecimal(hash: impl AsRef<[u8]>) -> String {
    hash.as_ref().iter().map(|b| format!("{b:02x}")).collect()
}
