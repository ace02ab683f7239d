//! The sets that ship inside the binary.

use super::{LookAlikeSet, parse_set};
use crate::error::ConfigError;

/// Each file of `data/look-alikes` by its name, with its text, in the order of the names.
const FILES: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/shipped_files.rs"));

/// Every shipped set, in the order of the file names. The files go through the same checks as
/// anyone's.
///
/// # Errors
/// A shipped file that does not hold; a test of this crate keeps that from being released.
pub fn shipped() -> Result<Vec<LookAlikeSet>, ConfigError> {
    FILES
        .iter()
        .map(|(name, text)| parse_set(name, text))
        .collect()
}

/// Ships a set of that id? Its file goes by it.
pub fn is_shipped(id: &str) -> bool {
    FILES
        .iter()
        .any(|(name, _)| name.strip_suffix(".toml") == Some(id))
}
