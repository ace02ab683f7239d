//! Whether a source is as it was when it was last read, told without reading it.
//!
//! Size, times and place on the disk stand for the content, as they do for version control. What
//! changes within a tick of the file system's clock changes none of them, so a file that was
//! touched that lately has no stamp yet (Git's documentation, "racy-git"); it is read once more.

use super::gather;
use super::text::sha256_hex;
use std::fmt::Write;
use std::fs::Metadata;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// The longest tick of a file system in use: that of FAT (Microsoft, FAT32 File System
/// Specification, 1.03: a count of two seconds).
const TICK: Duration = Duration::from_secs(2);

/// What stands for the content of a file or folder. None where it was touched so lately, or
/// stands so far in the future, that nothing can, or where it cannot be looked at.
///
/// The system's clock is asked for what the file system's is, not for a date to reckon with.
pub(crate) fn of(path: &Path) -> Option<String> {
    at(path, SystemTime::now())
}

fn at(path: &Path, clock: SystemTime) -> Option<String> {
    let mut text = String::new();
    for path in files(path)? {
        let about = std::fs::metadata(&path).ok()?;
        let modified = about.modified().ok()?;
        let touched = [Some(modified), changed(&about)]
            .into_iter()
            .flatten()
            .max()?;
        if clock.duration_since(touched).ok()? < TICK {
            return None;
        }
        // writing to a String cannot fail
        let _ = writeln!(
            text,
            "{path:?} {} {modified:?} {:?} {:?}",
            about.len(),
            changed(&about),
            place(&about)
        );
    }
    Some(sha256_hex(text.as_bytes()))
}

fn files(path: &Path) -> Option<Vec<PathBuf>> {
    if !std::fs::metadata(path).ok()?.is_dir() {
        return Some(vec![path.to_owned()]);
    }
    gather::files(path).ok()
}

/// When the file's content or its times were last changed: nobody can set that back.
#[cfg(unix)]
fn changed(about: &Metadata) -> Option<SystemTime> {
    use std::os::unix::fs::MetadataExt;
    let seconds = Duration::from_secs(about.ctime().try_into().ok()?);
    let rest = Duration::from_nanos(about.ctime_nsec().try_into().ok()?);
    SystemTime::UNIX_EPOCH.checked_add(seconds + rest)
}

/// Elsewhere than on Unix it is not told.
#[cfg(not(unix))]
fn changed(_: &Metadata) -> Option<SystemTime> {
    None
}

/// Number of the file on its disk: another is another file of the same name.
#[cfg(unix)]
fn place(about: &Metadata) -> Option<u64> {
    Some(std::os::unix::fs::MetadataExt::ino(about))
}

/// As above.
#[cfg(not(unix))]
fn place(_: &Metadata) -> Option<u64> {
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    fn later() -> SystemTime {
        SystemTime::now() + 2 * TICK
    }

    fn set_back(path: &Path, modified: SystemTime) {
        let file = fs::File::options().write(true).open(path).unwrap();
        file.set_modified(modified).unwrap();
    }

    #[test]
    fn a_file_touched_lately_has_no_stamp() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("counts.csv");
        fs::write(&path, "a").unwrap();
        assert_eq!(at(&path, SystemTime::now()), None);
        assert!(at(&path, later()).is_some());
        // a clock that stands behind the file's own
        assert_eq!(at(&path, SystemTime::now() - 2 * TICK), None);
        assert_eq!(at(&folder.path().join("none.csv"), later()), None);
    }

    #[test]
    fn another_content_has_another_stamp() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("counts.csv");
        fs::write(&path, "a").unwrap();
        let first = at(&path, later());
        assert_eq!(at(&path, later()), first);
        fs::write(&path, "bc").unwrap();
        assert_ne!(at(&path, later()), first, "another size");
    }

    #[test]
    #[cfg(unix)]
    fn size_and_time_set_back_do_not_hide_another_content() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("counts.csv");
        fs::write(&path, "a").unwrap();
        let modified = fs::metadata(&path).unwrap().modified().unwrap();
        let first = at(&path, later());
        std::thread::sleep(Duration::from_millis(50)); // more than a tick of the disk's clock
        fs::write(&path, "b").unwrap();
        set_back(&path, modified);
        assert_ne!(at(&path, later()), first);
        // a file of the same size and times in its place
        let other = folder.path().join("other.csv");
        fs::write(&other, "c").unwrap();
        set_back(&other, modified);
        fs::rename(&other, &path).unwrap();
        assert_ne!(at(&path, later()), first);
    }

    #[test]
    fn a_folder_is_all_of_its_files() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("a.csv"), "a").unwrap();
        let first = at(folder.path(), later());
        assert!(first.is_some());
        fs::write(folder.path().join("b.csv"), "b").unwrap();
        let both = at(folder.path(), later());
        assert_ne!(both, first);
        fs::remove_file(folder.path().join("b.csv")).unwrap();
        assert_eq!(at(folder.path(), later()), first);
        assert_eq!(at(folder.path(), SystemTime::now()), None);
    }
}
