//! What can go wrong when a digest is rendered or written.

use std::path::PathBuf;

/// Why there is no digest.
#[derive(Debug, thiserror::Error)]
pub enum DigestError {
    /// A template does not fit the digest: a fault of the program.
    #[error("the digest's template failed: {0:#}")]
    Template(#[from] minijinja::Error),
    /// A mail address that is none.
    #[error(
        "[digest] {field} = \"{value}\" is no mail address ({reason}), expected e.g. \
         \"Skerrow Ness <digest@skerrow.example>\""
    )]
    Address {
        /// `from` or `to`.
        field: &'static str,
        /// What was written.
        value: String,
        /// What the parser says.
        reason: String,
    },
    /// The mail could not be put together.
    #[error("the digest could not be made into a mail: {0}")]
    Mail(String),
    /// A file could not be written.
    #[error("{}: cannot write the digest: {source}", path.display())]
    Write {
        /// Which file or folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
}
