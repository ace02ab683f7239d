//! Takes a workspace out of an archive, whole or not at all.

use super::error::{BackupError, disk};
use super::manifest::{Entry, FORM, Manifest, NAME, hexadecimal};
use chrono::{DateTime, Utc};
use sha2::{Digest, Sha256};
use std::collections::HashSet;
use std::fs::File;
use std::io::{self, Read, Write};
use std::path::{Component, Path};
use zip::ZipArchive;

/// What was restored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unpacked {
    /// The workspace's name.
    pub workspace: String,
    /// When the backup was made.
    pub made_at: DateTime<Utc>,
    /// Files.
    pub files: usize,
}

/// The longest manifest that is read.
const MOST_BYTES: u64 = 16 << 20;

/// Restores a workspace into a folder that is not there or empty. Every file is held to the
/// manifest before the folder is put in its place.
///
/// # Errors
/// [`BackupError`]; then the folder is as it was.
pub fn unpack(archive: &Path, into: &Path) -> Result<Unpacked, BackupError> {
    let into = std::path::absolute(into).map_err(disk(into, "made"))?;
    if !is_free(&into)? {
        return Err(BackupError::NotEmpty(into));
    }
    let mut opened = Opened::open(archive)?;
    let parent = into.parent().unwrap_or(Path::new("/"));
    std::fs::create_dir_all(parent).map_err(disk(parent, "made"))?;
    let passing = tempfile::Builder::new()
        .prefix(".wingtide-restore-")
        .tempdir_in(parent);
    let passing = passing.map_err(disk(parent, "written"))?;
    // made as any folder is, not for its owner alone
    let folder = passing.path().join("workspace");
    std::fs::create_dir(&folder).map_err(disk(&folder, "made"))?;
    for entry in opened.manifest.files.clone() {
        opened.take(&entry, &folder)?;
    }
    if into.exists() {
        std::fs::remove_dir(&into).map_err(disk(&into, "replaced"))?;
    }
    std::fs::rename(&folder, &into).map_err(disk(&into, "put in place"))?;
    Ok(Unpacked {
        workspace: opened.manifest.workspace,
        made_at: opened.manifest.made_at,
        files: opened.manifest.files.len(),
    })
}

fn is_free(folder: &Path) -> Result<bool, BackupError> {
    match std::fs::read_dir(folder) {
        Ok(mut entries) => Ok(entries.next().is_none()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(true),
        Err(e) if e.kind() == io::ErrorKind::NotADirectory => Ok(false),
        Err(e) => Err(disk(folder, "read")(e)),
    }
}

/// An archive whose manifest fits its files.
struct Opened<'a> {
    path: &'a Path,
    zip: ZipArchive<File>,
    manifest: Manifest,
}

impl<'a> Opened<'a> {
    fn open(path: &'a Path) -> Result<Self, BackupError> {
        let none = |why: String| BackupError::NoBackup {
            path: path.to_owned(),
            why,
        };
        let file = File::open(path).map_err(disk(path, "read"))?;
        let mut zip = ZipArchive::new(file).map_err(|e| none(e.to_string()))?;
        let text = match zip.by_name(NAME) {
            Ok(file) => {
                let mut text = Vec::new();
                let read = file.take(MOST_BYTES).read_to_end(&mut text);
                read.map(|_| text).map_err(|e| none(e.to_string()))?
            }
            Err(_) => return Err(none(format!("it holds no {NAME}"))),
        };
        let form: Form = serde_json::from_slice(&text).map_err(|e| none(format!("{NAME}: {e}")))?;
        if form.form > FORM {
            return Err(BackupError::Newer {
                path: path.to_owned(),
                version: form.version,
            });
        }
        let manifest: Manifest =
            serde_json::from_slice(&text).map_err(|e| none(format!("{NAME}: {e}")))?;
        let opened = Opened {
            path,
            zip,
            manifest,
        };
        opened.check_names()?;
        Ok(opened)
    }

    /// The manifest names every file once, below the folder, and nothing else is there.
    fn check_names(&self) -> Result<(), BackupError> {
        let mut named: HashSet<&str> = HashSet::new();
        for entry in &self.manifest.files {
            if !is_below(&entry.path) {
                return Err(damaged(
                    self.path,
                    &entry.path,
                    "leads out of the workspace",
                ));
            }
            if !named.insert(&entry.path) {
                return Err(damaged(
                    self.path,
                    &entry.path,
                    "stands twice in the manifest",
                ));
            }
        }
        if !named.contains(config::FILE_NAME) {
            return Err(damaged(self.path, config::FILE_NAME, "is missing"));
        }
        for name in self.zip.file_names() {
            let name = name.map_err(|e| damaged(self.path, "a name", &e.to_string()))?;
            if name != NAME && !named.contains(&*name) {
                return Err(damaged(self.path, &name, "is not in the manifest"));
            }
        }
        Ok(())
    }

    fn take(&mut self, entry: &Entry, folder: &Path) -> Result<(), BackupError> {
        let place = folder.join(&entry.path);
        let parent = place.parent().unwrap_or(folder);
        std::fs::create_dir_all(parent).map_err(disk(parent, "made"))?;
        let mut file = new_file(&place).map_err(disk(&place, "written"))?;
        let mut content = match self.zip.by_name(&entry.path) {
            // one byte more than there should be is enough to know
            Ok(content) => content.take(entry.bytes.saturating_add(1)),
            Err(_) => return Err(damaged(self.path, &entry.path, "is missing")),
        };
        let (mut hash, mut bytes, mut buffer) = (Sha256::new(), 0, vec![0; 1 << 16]);
        loop {
            let read = match content.read(&mut buffer) {
                Ok(0) => break,
                Ok(read) => read,
                Err(why) => {
                    let why = format!("cannot be read ({why})");
                    return Err(damaged(self.path, &entry.path, &why));
                }
            };
            hash.update(&buffer[..read]);
            bytes += read as u64;
            file.write_all(&buffer[..read])
                .map_err(disk(&place, "written"))?;
        }
        drop(content);
        if bytes != entry.bytes || hexadecimal(hash.finalize()) != entry.sha256 {
            return Err(damaged(self.path, &entry.path, "is not what was packed"));
        }
        file.sync_all().map_err(disk(&place, "written"))
    }
}

fn damaged(archive: &Path, file: &str, why: &str) -> BackupError {
    BackupError::Damaged {
        path: archive.to_owned(),
        file: file.to_owned(),
        why: why.to_owned(),
    }
}

/// What is read of a manifest before the rest of it is believed.
#[derive(serde::Deserialize)]
struct Form {
    form: u32,
    version: String,
}

fn is_below(path: &str) -> bool {
    let mut parts = Path::new(path).components().peekable();
    let plain = !path.contains(['\\', ':']) && parts.peek().is_some();
    plain && parts.all(|part| matches!(part, Component::Normal(_)))
}

/// A file of the store may hold addresses and a secret; the others are for all to read.
fn new_file(place: &Path) -> io::Result<File> {
    let mut options = File::options();
    options.write(true).create_new(true);
    #[cfg(unix)]
    if place
        .parent()
        .is_some_and(|p| p.ends_with(ingest::STORE_FOLDER))
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(place)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_places_below_the_folder_are_taken() {
        for good in ["wingtide.toml", "wingtide-store/ledger.sqlite"] {
            assert!(is_below(good), "{good}");
        }
        for bad in ["", "/etc/passwd", "../x", "a/../../x", "a\\..\\x", "C:x"] {
            assert!(!is_below(bad), "{bad}");
        }
    }
}
