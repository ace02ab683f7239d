//! Files that are written whole or not at all: under a passing name beside their place, then
//! moved into it in one step.

use std::io::{self, Write};
use std::path::Path;
use tempfile::NamedTempFile;

/// A file under its passing name; it is removed when dropped.
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
    let mut named = tempfile::Builder::new();
    named.prefix(".wingtide-").suffix(".part");
    // readable as any file that a program makes, not for the owner alone
    #[cfg(unix)]
    named.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    named.tempfile_in(folder.unwrap_or(Path::new(".")))
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
