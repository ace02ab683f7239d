//! The bytes of a source: one file, or every file of a folder.

use super::absent::not_there;
use super::fault::FormatError;
use super::kind;
use super::long_line::{self, Ended};
use super::text::{self, sha256_hex};
use crate::error::LoadError;
use config::settings::Source;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Longest source read: its text and columns are held in memory, and lines are counted in 32 bits.
pub(crate) const LIMIT_MIB: u64 = 2048;

/// Most files of a folder or archive.
pub(crate) const MOST_FILES: usize = 10_000;

/// Folders inside folders that are looked into.
const DEEPEST: usize = 8;

/// A file in memory.
pub(crate) struct FileBytes {
    /// Its name in messages.
    pub(crate) name: String,
    pub(crate) bytes: Vec<u8>,
}

/// All bytes of a source.
pub(crate) struct Gathered {
    pub(crate) files: Vec<FileBytes>,
    /// SHA-256 in hex: of the bytes of a file, of the names and bytes of a folder's.
    pub(crate) sha256: String,
}

impl Gathered {
    /// One file, wherever its bytes come from.
    pub(crate) fn one(name: &str, bytes: Vec<u8>) -> Self {
        let sha256 = sha256_hex(&bytes);
        let name = name.to_owned();
        Gathered {
            files: vec![FileBytes { name, bytes }],
            sha256,
        }
    }
}

/// Reads all of a source; `file` is its name in messages.
pub(crate) fn gather(source: &Source, file: &str) -> Result<Gathered, LoadError> {
    at(&source.path, file, &source.id)
}

/// Reads a file or folder; `file` and `source_id` are its names in messages.
pub(crate) fn at(path: &Path, file: &str, source_id: &str) -> Result<Gathered, LoadError> {
    let unreadable = |cause| LoadError::Unreadable {
        file: file.to_owned(),
        source_id: source_id.to_owned(),
        cause,
    };
    let about = std::fs::metadata(path).map_err(|cause| match cause.kind() {
        io::ErrorKind::NotFound => not_there(path, source_id),
        _ => unreadable(cause),
    })?;
    if about.is_dir() {
        return folder(path, file, source_id);
    }
    let mut left = LIMIT_MIB << 20;
    let bytes = whole(path, file, &mut left, &unreadable)?;
    Ok(Gathered::one(file, bytes))
}

fn folder(folder: &Path, file: &str, source_id: &str) -> Result<Gathered, LoadError> {
    let unreadable = |cause| LoadError::Unreadable {
        file: file.to_owned(),
        source_id: source_id.to_owned(),
        cause,
    };
    let paths = files(folder).map_err(unreadable)?;
    if paths.len() > MOST_FILES {
        let file = file.to_owned();
        let limit = MOST_FILES;
        return Err(FormatError::TooManyFiles { file, limit }.into());
    }
    let (mut files, mut digests, mut left) = (Vec::new(), String::new(), LIMIT_MIB << 20);
    for path in paths {
        let inside = path.strip_prefix(folder).unwrap_or(&path);
        let name = Path::new(file).join(inside).display().to_string();
        let bytes = whole(&path, &name, &mut left, &unreadable)?;
        digests.push_str(&format!("{} {}\n", sha256_hex(&bytes), inside.display()));
        files.push(FileBytes { name, bytes });
    }
    if files.is_empty() {
        let file = file.to_owned();
        return Err(FormatError::NothingInside { file }.into());
    }
    Ok(Gathered {
        files,
        sha256: sha256_hex(digests.as_bytes()),
    })
}

/// Files to read in the folder and those inside it, in the order of their paths.
pub(super) fn files(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut paths = Vec::new();
    walk(folder, DEEPEST, &mut paths)?;
    paths.sort();
    Ok(paths)
}

/// Adds those of a folder. Links are not followed: one may lead in a circle.
fn walk(folder: &Path, depth: usize, found: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let (path, about) = (entry.path(), entry.file_type()?);
        let hidden = entry.file_name().to_string_lossy().starts_with('.');
        if about.is_dir() && !hidden && depth > 0 {
            walk(&path, depth - 1, found)?;
        } else if about.is_file() && (kind::is_taken(&path) || is_archive_part(&path)) {
            found.push(path);
        }
    }
    Ok(())
}

/// Archives of the folder, and what describes a folder that is an unpacked one.
fn is_archive_part(path: &Path) -> bool {
    let zip = path
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("zip"));
    zip || path.file_name().is_some_and(|n| n == "meta.xml")
}

/// The whole file, at most as many bytes as are left.
fn whole(
    path: &Path,
    name: &str,
    left: &mut u64,
    unreadable: &impl Fn(io::Error) -> LoadError,
) -> Result<Vec<u8>, LoadError> {
    let mut opened = std::fs::File::open(path).map_err(unreadable)?;
    let length = opened.metadata().map_err(unreadable)?.len();
    if length > *left {
        return Err(LoadError::TooLarge {
            file: name.to_owned(),
            mib: length >> 20,
            limit_mib: LIMIT_MIB,
        });
    }
    let mut bytes = Vec::with_capacity(length as usize);
    // a file that grows meanwhile, or a device, has no length to go by
    let ended = long_line::read_to_end(opened.by_ref().take(*left), &mut bytes);
    *left -= bytes.len() as u64;
    match ended.map_err(unreadable)? {
        Ended::Whole => Ok(bytes),
        Ended::LongLine(line) => Err(too_long(name, line, &bytes)),
    }
}

fn too_long(name: &str, line: u64, bytes: &[u8]) -> LoadError {
    let file = name.to_owned();
    match text::binary(bytes) {
        Some(looks_like) => LoadError::NotText { file, looks_like },
        None => FormatError::LongLine { file, line }.into(),
    }
}
