//! Files and folders under a passing name, which go when they are whole or no longer needed.
//!
//! A program that is stopped leaves them behind. Each is locked while its program runs, and the
//! system lets go of the lock with the program; so the next one that begins such a file or folder
//! knows what nobody holds any more, and removes it.

use std::fs::{self, File, FileType};
use std::io::{self, ErrorKind};
use std::path::Path;
use tempfile::{NamedTempFile, TempDir};

/// Locked inside a folder while it is in use.
const HELD: &str = ".held";

/// A folder under a passing name; it is removed when dropped.
#[derive(Debug)]
pub struct PassingFolder {
    // closed before the folder goes, as some systems remove no open file
    _held: File,
    dir: TempDir,
}

impl PassingFolder {
    /// Makes a folder of that prefix in another, and removes those there that nobody holds.
    ///
    /// # Errors
    ///
    /// The folder cannot be made.
    pub fn begin(parent: &Path, prefix: &str) -> io::Result<Self> {
        sweep(parent, |name| name.starts_with(prefix), FileType::is_dir);
        loop {
            let dir = tempfile::Builder::new().prefix(prefix).tempdir_in(parent)?;
            let path = dir.path().join(HELD);
            match File::create(&path).and_then(|held| hold(held, &path)) {
                Ok(_held) => return Ok(PassingFolder { _held, dir }),
                Err(e) if e.kind() == ErrorKind::NotFound => {} // swept before it was held
                Err(e) => return Err(e),
            }
        }
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        self.dir.path()
    }
}

/// Makes a file of that prefix and suffix in a folder, and removes those there that nobody holds.
/// It is removed when dropped.
///
/// # Errors
///
/// The file cannot be made.
pub fn file(folder: &Path, prefix: &str, suffix: &str) -> io::Result<NamedTempFile> {
    let is_ours = |name: &str| name.starts_with(prefix) && name.ends_with(suffix);
    sweep(folder, is_ours, FileType::is_file);
    let mut named = tempfile::Builder::new();
    named.prefix(prefix).suffix(suffix);
    // readable as any file that a program makes, not for the owner alone
    #[cfg(unix)]
    named.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    loop {
        let file = named.tempfile_in(folder)?;
        match hold(file.as_file().try_clone()?, file.path()) {
            Ok(_) => return Ok(file),
            Err(e) if e.kind() == ErrorKind::NotFound => {} // swept before it was held
            Err(e) => return Err(e),
        }
    }
}

/// Locks the file, and makes sure that it was not swept meanwhile. Where a file system knows no
/// locks, nothing is swept either.
fn hold(file: File, path: &Path) -> io::Result<File> {
    let _ = file.lock();
    fs::symlink_metadata(path)?;
    Ok(file)
}

/// Removes what nobody holds. What cannot be removed, such as another user's, is left.
fn sweep(folder: &Path, is_ours: impl Fn(&str) -> bool, is_kind: impl Fn(&FileType) -> bool) {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    for entry in entries {
        let kind = entry.file_type();
        if is_ours(&entry.file_name().to_string_lossy()) && kind.is_ok_and(|k| is_kind(&k)) {
            let _ = remove(&entry.path());
        }
    }
}

fn remove(path: &Path) -> io::Result<()> {
    if !path.is_dir() {
        let _dead = free(path)?;
        return fs::remove_file(path);
    }
    match free(&path.join(HELD)) {
        Ok(_dead) => fs::remove_dir_all(path),
        // just made, or stopped when it was; one with anything in it does not go this way
        Err(e) if e.kind() == ErrorKind::NotFound => fs::remove_dir(path),
        Err(e) => Err(e),
    }
}

/// The file, locked, if nobody else holds it.
fn free(path: &Path) -> io::Result<File> {
    let file = File::options().read(true).write(true).open(path)?;
    file.try_lock()?;
    Ok(file)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> = entries
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn what_a_stopped_program_left_goes_and_what_is_held_stays() {
        let place = tempfile::tempdir().unwrap();
        let at = place.path();
        for dead in [".w-1", ".w-2"] {
            fs::create_dir(at.join(dead)).unwrap();
        }
        fs::write(at.join(".w-2").join(HELD), "").unwrap();
        fs::write(at.join(".w-2/counts.csv"), "half").unwrap();
        fs::write(at.join(".w-3.part"), "half").unwrap();
        fs::create_dir(at.join(".w-4")).unwrap();
        fs::write(at.join(".w-4/mine"), "not locked, not ours").unwrap();
        fs::write(at.join("mine.part"), "").unwrap();
        let first = PassingFolder::begin(at, ".w-").unwrap();
        let mut page = file(at, ".w-", ".part").unwrap();
        page.write_all(b"whole").unwrap();
        let second = PassingFolder::begin(at, ".w-").unwrap();
        let other = file(at, ".w-", ".part").unwrap();
        assert!(first.path().exists() && second.path().exists());
        assert!(page.path().exists() && other.path().exists());
        page.persist(at.join("page")).unwrap();
        drop((first, second, other));
        assert_eq!(names(at), [".w-4", "mine.part", "page"]);
        assert_eq!(fs::read(at.join("page")).unwrap(), b"whole");
    }
}
