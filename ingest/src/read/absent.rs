//! A source's file that is not there.

use crate::error::LoadError;
use config::nearest::nearest;
use std::path::Path;

/// The folder that was looked in, and what there has the nearest name.
pub(super) fn not_there(path: &Path, source_id: &str) -> LoadError {
    let folder = path.parent().unwrap_or(Path::new("."));
    let name = path.file_name().unwrap_or_default();
    let name = name.to_string_lossy().into_owned();
    let there: Vec<String> = match std::fs::read_dir(folder) {
        Ok(entries) => entries
            .flatten()
            .map(|e| e.file_name().to_string_lossy().into_owned())
            .collect(),
        Err(_) => Vec::new(),
    };
    LoadError::NotThere {
        nearest: nearest(&name, there.iter().map(String::as_str)).map(str::to_owned),
        file: name,
        source_id: source_id.to_owned(),
        folder: folder.to_owned(),
    }
}
