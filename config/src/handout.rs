//! `[handout]`: what stands on the sheets that a teacher hands out.

use crate::raw::{Key, Section};
use toml::Spanned;

const KEYS: &[Key] = &[Key(
    "licence",
    "a sentence on what others may do with a handout",
)];

/// The licence line of the file, as it is written; None where it is left out.
pub(crate) fn licence(top: &Section<'_>) -> Option<String> {
    let section = top.section("handout", KEYS)?;
    section.text("licence").map(Spanned::into_inner)
}
