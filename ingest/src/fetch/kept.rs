//! The copy of what an address held last, and what is known of it.

use super::client::text;
use crate::read::text::sha256_hex;
use chrono::{DateTime, Utc};
use reqwest::header::{self, HeaderMap, HeaderName};
use serde::{Deserialize, Serialize};
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use url::Url;

/// What a server gave to recognise a body by (RFC 9110, 8.8).
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Validators {
    etag: Option<String>,
    last_modified: Option<String>,
}

impl Validators {
    pub(super) fn of(headers: &HeaderMap) -> Self {
        Validators {
            etag: text(headers, &header::ETAG),
            last_modified: text(headers, &header::LAST_MODIFIED),
        }
    }

    /// The fields of a request that wants nothing unless it changed.
    pub(super) fn conditions(&self) -> impl Iterator<Item = (HeaderName, &str)> {
        let etag = self.etag.as_deref().map(|e| (header::IF_NONE_MATCH, e));
        let since = self.last_modified.as_deref();
        let since = since.map(|s| (header::IF_MODIFIED_SINCE, s));
        etag.into_iter().chain(since)
    }
}

/// What is known of a copy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct About {
    url: Url,
    pub(super) fetched_at: DateTime<Utc>,
    sha256: String,
    #[serde(flatten)]
    pub(super) validators: Validators,
}

impl About {
    pub(super) fn new(
        url: &Url,
        validators: Validators,
        fetched_at: DateTime<Utc>,
        bytes: &[u8],
    ) -> Self {
        About {
            url: url.clone(),
            fetched_at,
            sha256: sha256_hex(bytes),
            validators,
        }
    }
}

/// A copy that is what it was when it was fetched.
#[derive(Debug)]
pub(super) struct Kept {
    pub(super) about: About,
}

impl Kept {
    /// The copy at `path`; None where it is of another address or was changed since, as its
    /// validators say nothing of it then.
    pub(super) fn of(path: &Path, url: &Url) -> Option<Kept> {
        let about = fs::read(beside(path, ".about.json")).ok()?;
        let about: About = serde_json::from_slice(&about).ok()?;
        let same = about.url == *url && sha256_hex(&fs::read(path).ok()?) == about.sha256;
        same.then_some(Kept { about })
    }
}

/// Puts a new copy in place. It goes first and what is known of it second: between the two, the
/// old knowledge does not fit the new copy, and the next fetch asks without it.
pub(super) fn replace(path: &Path, bytes: &[u8], about: &About) -> io::Result<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    put(path, bytes)?;
    let about = serde_json::to_vec_pretty(about).map_err(io::Error::other)?;
    put(&beside(path, ".about.json"), &about)
}

fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let partial = beside(path, ".partial");
    let mut file = File::create(&partial)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    fs::rename(&partial, path)
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name: OsString = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}
