//! Writes the archive, whole or not at all.

use super::error::{BackupError, disk};
use super::gather::gather;
use super::manifest::{Entry, FORM, Manifest, NAME, hexadecimal};
use crate::whole_file;
use chrono::{DateTime, Utc};
use config::settings::Workspace;
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// What was packed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    /// Files.
    pub files: usize,
    /// Their bytes.
    pub bytes: u64,
    /// Files that the settings name outside the workspace's folder, which are not in it.
    pub outside: Vec<PathBuf>,
}

/// Packs the workspace into a new archive, readable by its owner alone: it holds the addresses of
/// readers.
///
/// # Errors
/// [`BackupError`]; then no archive is there.
pub fn pack(
    workspace: &Workspace,
    archive: &Path,
    now: DateTime<Utc>,
) -> Result<Packed, BackupError> {
    if archive.exists() {
        return Err(BackupError::There(archive.to_owned()));
    }
    let unwritable = || disk(archive, "written");
    let passing = whole_file::begin(archive).map_err(unwritable())?;
    for_its_owner(passing.path()).map_err(unwritable())?;
    let gathered = gather(workspace)?;
    let mut zip = ZipWriter::new(passing.reopen().map_err(unwritable())?);
    let mut manifest = Manifest {
        form: FORM,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        workspace: workspace.name.clone(),
        made_at: now,
        files: Vec::new(),
    };
    for (place, path) in &gathered.files {
        let file = File::open(path).map_err(disk(path, "read"))?;
        let entry = add(&mut zip, place, file).map_err(unwritable())?;
        manifest.files.push(entry);
    }
    let text = serde_json::to_vec_pretty(&manifest).map_err(io::Error::from);
    let finished = text.and_then(|text| {
        add(&mut zip, NAME, text.as_slice())?;
        zip.finish()?.sync_all()
    });
    finished.map_err(unwritable())?;
    // one that came there meanwhile is left alone too
    let kept = passing.persist_noclobber(archive).map_err(|e| e.error);
    kept.map_err(unwritable())?;
    Ok(Packed {
        files: manifest.files.len(),
        bytes: manifest.files.iter().map(|f| f.bytes).sum(),
        outside: gathered.outside,
    })
}

/// Lets nobody else read it, where there are such rights.
fn for_its_owner(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        let mode = std::os::unix::fs::PermissionsExt::from_mode(0o600);
        std::fs::set_permissions(path, mode)?;
    }
    #[cfg(not(unix))]
    let _ = path;
    Ok(())
}

/// Adds a file, and tells its length and fingerprint.
fn add(zip: &mut ZipWriter<File>, place: &str, mut content: impl Read) -> io::Result<Entry> {
    // what is packed already does not get smaller
    let method = match place.ends_with(".parquet") {
        true => CompressionMethod::Stored,
        false => CompressionMethod::Deflated,
    };
    let options = SimpleFileOptions::default()
        .compression_method(method)
        .last_modified_time(zip::DateTime::default())
        .large_file(true);
    zip.start_file(place, options)?;
    let (mut hash, mut bytes, mut buffer) = (Sha256::new(), 0, vec![0; 1 << 16]);
    loop {
        let read = content.read(&mut buffer)?;
        if read == 0 {
            break;
        }
        hash.update(&buffer[..read]);
        zip.write_all(&buffer[..read])?;
        bytes += read as u64;
    }
    Ok(Entry {
        path: place.to_owned(),
        bytes,
        sha256: hexadecimal(hash.finalize()),
    })
}
