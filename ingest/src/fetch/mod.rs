//! Sources with an address: what it holds now, copied into the workspace.
//!
//! A fetch asks with the validators of the copy that is kept (RFC 9110, 13.1), so that what did
//! not change is not sent again. The copy is replaced whole or not at all; where the address
//! cannot be reached, it stays and is told of.

mod client;
mod failure;
mod kept;
mod post;
mod private;
mod retry;

pub use failure::FetchError;
pub use post::{NotTaken, Poster, retry_after};

use chrono::{DateTime, Utc};
use client::{Answer, Client};
use config::settings::{FetchSettings, Source, Workspace};
use failure::Failure;
use kept::{About, Kept};
use serde::Serialize;
use url::Url;

/// What came of one source's address.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FetchReport {
    /// The source's id.
    pub source: String,
    /// Its address.
    pub url: Url,
    /// Times it was asked.
    pub tries: u32,
    /// What came of it.
    #[serde(flatten)]
    pub outcome: Outcome,
}

/// What came of an address.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "outcome", rename_all = "kebab-case")]
pub enum Outcome {
    /// It held something new, which is the copy now.
    New {
        /// Length of the copy, bytes.
        bytes: u64,
    },
    /// It holds what the copy holds.
    Unchanged,
    /// It could not be fetched; the copy is as it was.
    Failed {
        /// Why, as a phrase that follows a colon.
        why: String,
        /// When the copy was fetched.
        copy_from: DateTime<Utc>,
    },
}

impl std::fmt::Display for FetchReport {
    /// One sentence.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let FetchReport { source, url, .. } = self;
        match &self.outcome {
            Outcome::New { bytes } => write!(f, "{source}: {bytes} bytes fetched from {url}."),
            Outcome::Unchanged => write!(f, "{source}: {url} holds nothing new."),
            Outcome::Failed { why, copy_from } => write!(
                f,
                "{source}: {url} could not be fetched ({why}); the copy of {} is used.",
                copy_from.format("%-d %B %Y, %H:%M UTC")
            ),
        }
    }
}

/// How far the fetching has come.
#[derive(Debug, Clone, Copy)]
pub struct Fetching<'a> {
    /// Id of the source.
    pub source: &'a str,
    /// Which try it is, from 1.
    pub attempt: u32,
    /// Bytes received.
    pub bytes: u64,
}

impl std::fmt::Display for Fetching<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {} KiB received", self.source, self.bytes >> 10)?;
        match self.attempt {
            1 => Ok(()),
            n => write!(f, ", try {n}"),
        }
    }
}

/// Fetches every source that has an address into its file, one after another.
///
/// `now` stamps the copies. What cannot be fetched keeps the copy it has and says so in its
/// report.
///
/// # Errors
///
/// [`FetchError`] where an address cannot be fetched and there is no copy, or the copy cannot be
/// written; sources fetched before it keep what they got.
pub fn fetch(
    workspace: &Workspace,
    now: DateTime<Utc>,
    progress: &mut dyn FnMut(Fetching<'_>),
) -> Result<Vec<FetchReport>, FetchError> {
    let sources = workspace.sources.iter();
    let addressed: Vec<(&Source, &Url)> =
        sources.filter_map(|s| Some((s, s.url.as_ref()?))).collect();
    if addressed.is_empty() {
        return Ok(Vec::new());
    }
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(FetchError::Machine)?;
    let client = Client::new(&workspace.fetch)?;
    let one = |(source, url)| {
        let fetched = fetch_one(&client, &workspace.fetch, (source, url), now, progress);
        runtime.block_on(fetched)
    };
    addressed.into_iter().map(one).collect()
}

async fn fetch_one(
    client: &Client,
    settings: &FetchSettings,
    (source, url): (&Source, &Url),
    now: DateTime<Utc>,
    progress: &mut dyn FnMut(Fetching<'_>),
) -> Result<FetchReport, FetchError> {
    let kept = Kept::of(&source.path, url);
    let mut tries = 0;
    let answer = loop {
        tries += 1;
        let mut received = |bytes| {
            progress(Fetching {
                source: &source.id,
                attempt: tries,
                bytes,
            });
        };
        received(0);
        match client.ask(url, kept.as_ref(), &mut received).await {
            Ok(answer) => break Ok(answer),
            Err(failure) => match retry::wait(failure, tries, settings, Utc::now()) {
                Ok(wait) => tokio::time::sleep(wait).await,
                Err(why) => break Err(why),
            },
        }
    };
    let outcome = match answer {
        Ok(answer) => take(answer, source, url, now)?,
        Err(why) => keep(kept, why, source, url)?,
    };
    Ok(FetchReport {
        source: source.id.clone(),
        url: url.clone(),
        tries,
        outcome,
    })
}

fn take(
    answer: Answer,
    source: &Source,
    url: &Url,
    now: DateTime<Utc>,
) -> Result<Outcome, FetchError> {
    let Answer::Body { bytes, validators } = answer else {
        return Ok(Outcome::Unchanged);
    };
    let about = About::new(url, validators, now, &bytes);
    let written = kept::replace(&source.path, &bytes, &about);
    written.map_err(|cause| FetchError::Disk {
        path: source.path.clone(),
        cause,
    })?;
    let bytes = bytes.len() as u64;
    Ok(Outcome::New { bytes })
}

fn keep(
    kept: Option<Kept>,
    why: Failure,
    source: &Source,
    url: &Url,
) -> Result<Outcome, FetchError> {
    let why = why.to_string();
    match kept {
        Some(kept) => Ok(Outcome::Failed {
            why,
            copy_from: kept.about.fetched_at,
        }),
        None => Err(FetchError::Nothing {
            source_id: source.id.clone(),
            url: Box::new(url.clone()),
            why,
        }),
    }
}
