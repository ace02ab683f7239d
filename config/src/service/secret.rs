//! Secrets stand in the environment or in a file, never in `wingtide.toml`.

use crate::raw::Section;
use std::path::{Path, PathBuf};

/// Where a secret is found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Secret {
    /// In this variable of the environment.
    Environment(String),
    /// In this file, whose last line end is no part of it.
    File(PathBuf),
}

/// The secret under one of two keys.
pub(super) fn read(
    section: &Section<'_>,
    root: &Path,
    [variable, file]: [&str; 2],
) -> Option<Secret> {
    if section.has(variable) && section.has(file) {
        let title = section.title();
        let message = format!("{title} has both {variable} and {file}; keep one");
        section.refuse_key(file, message);
        return None;
    }
    if section.has(file) {
        let path = section.text(file)?;
        return Some(Secret::File(root.join(path.get_ref())));
    }
    let name = section.text(variable)?;
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '_';
    if name.get_ref().is_empty() || !name.get_ref().chars().all(plain) {
        section.refuse_value(variable, &name);
        return None;
    }
    Some(Secret::Environment(name.into_inner()))
}
