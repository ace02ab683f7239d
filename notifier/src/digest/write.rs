//! The digest's files, each written whole or not at all.

use super::{Digest, DigestError, MailStamp};
use std::fs;
use std::path::{Path, PathBuf};

/// The files that were written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// `digest.html`
    pub html: PathBuf,
    /// `digest.txt`
    pub text: PathBuf,
    /// `digest.eml`
    pub mail: PathBuf,
}

/// Writes `digest.html`, `digest.txt` and `digest.eml` into the folder, which is made where it
/// is missing. All three are rendered before the first is written; a file that stands there is
/// replaced only by a whole one.
///
/// # Errors
/// Whatever the renderings refuse, or [`DigestError::Write`].
pub fn write(dir: &Path, digest: &Digest, stamp: &MailStamp) -> Result<Written, DigestError> {
    let html = digest.html()?;
    let text = digest.text()?;
    let mail = digest.eml(stamp)?;
    fs::create_dir_all(dir).map_err(|source| failed(dir, source))?;
    Ok(Written {
        html: replace(dir, "digest.html", html.as_bytes())?,
        text: replace(dir, "digest.txt", text.as_bytes())?,
        mail: replace(dir, "digest.eml", &mail)?,
    })
}

fn failed(path: &Path, source: std::io::Error) -> DigestError {
    DigestError::Write {
        path: path.to_path_buf(),
        source,
    }
}

/// Writes beside the file and renames, which replaces it in one step.
fn replace(dir: &Path, name: &str, bytes: &[u8]) -> Result<PathBuf, DigestError> {
    let path = dir.join(name);
    let beside = dir.join(format!(".{name}.{}.part", std::process::id()));
    let done = fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, &path));
    if let Err(source) = done {
        // The first error is the one to tell; a left-over part file is only untidy.
        let _ = fs::remove_file(&beside);
        return Err(failed(&path, source));
    }
    Ok(path)
}
