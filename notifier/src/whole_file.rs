//! Files that are written whole or not at all: under a passing name beside their place, then
//! moved into it in one step.

use ingest::passing;
use std::io::{self, Write};
use std::path::Path;
use tempfile::NamedTempFile;

/// A file under its passing name; it is removed when dropped. Those that a program left behind which
/// was stopped are removed.
pub(crate) fn begin(path: &Path) -> io::Result<NamedTempFile> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty());
    if let Some(missing) = folder.filter(|f| !f.is_dir()) {
        let words = format!("there is no folder {}", missing.display());
        return Err(io::Error::new(io::ErrorKind::NotFound, words));
    }
    if path.is_dir() {
        return Err(io::Error::new(
            io::ErrorKind::IsADirectory,
            "it is a folder",
        ));
    }
    passing::file(folder.unwrap_or(Path::new(".")), ".wingtide-", ".part")
}

/// Moves the file into its place.
pub(crate) fn finish(file: NamedTempFile, path: &Path) -> io::Result<()> {
    file.persist(path).map_err(|e| e.error)?;
    Ok(())
}

/// Writes a file in one go.
pub(crate) fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = begin(path)?;
    file.write_all(bytes)?;
    finish(file, path)
}
