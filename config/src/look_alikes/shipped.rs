//! The sets that ship inside the binary.

use super::{LookAlikeSet, parse_set};
use crate::error::ConfigError;

/// The text of a shipped set with its file name.
macro_rules! file {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!("../../data/look-alikes/", $name)),
        )
    };
}

const FILES: [(&str, &str); 5] = [
    file!("small-sandpipers.toml"),
    file!("pale-terns.toml"),
    file!("leaf-warblers.toml"),
    file!("long-shanks.toml"),
    file!("streaked-pipits.toml"),
];

/// Every shipped set, in a fixed order. The files go through the same checks as anyone's.
///
/// # Errors
/// A shipped file that does not hold; a test of this crate keeps that from being released.
pub fn shipped() -> Result<Vec<LookAlikeSet>, ConfigError> {
    FILES
        .iter()
        .map(|(name, text)| parse_set(name, text))
        .collect()
}
