//! Why an address gives nothing, by kind.

use chrono::{DateTime, Utc};
use std::net::IpAddr;
use std::path::PathBuf;
use std::time::Duration;
use url::Url;

/// Why nothing was fetched and nothing can be loaded instead.
#[derive(Debug, thiserror::Error)]
pub enum FetchError {
    /// The address gives nothing and there is no copy.
    #[error("source \"{source_id}\": {url} could not be fetched ({why}), and there is no copy yet")]
    Nothing {
        /// The source.
        source_id: String,
        /// Its address.
        url: Box<Url>,
        /// Why, as a phrase.
        why: String,
    },
    /// The copy cannot be written.
    #[error("the copy {} cannot be written: {cause}", path.display())]
    Disk {
        /// The copy.
        path: PathBuf,
        /// What the system says.
        cause: std::io::Error,
    },
    /// Fetching cannot start on this machine.
    #[error("nothing can be fetched on this machine: {0}")]
    Machine(std::io::Error),
    /// The HTTP client cannot be made, mostly for want of the system's certificates.
    #[error("nothing can be fetched on this machine: {}", innermost(.0))]
    Client(reqwest::Error),
}

/// Why one try failed.
#[derive(Debug, thiserror::Error)]
pub(super) enum Failure {
    /// Another try may succeed.
    #[error("{}", innermost(.0))]
    Transient(reqwest::Error),
    /// The server asks for another try, perhaps after a time.
    #[error("the server answers {status}")]
    Later {
        status: reqwest::StatusCode,
        after: Option<After>,
    },
    /// The server asks for a longer wait than is allowed.
    #[error("the server answers {status} and asks to wait {} seconds", wait.as_secs())]
    TooLate {
        status: reqwest::StatusCode,
        wait: Duration,
    },
    /// The server refuses.
    #[error("the server answers {0}")]
    Refused(reqwest::StatusCode),
    /// The body is longer than is taken.
    #[error("it is longer than {max_mib} MiB; raise max_mib in [fetch] if that is right")]
    TooLong { max_mib: u64 },
    /// A name of this machine or of a private network.
    #[error("{0}")]
    Private(PrivateAddress),
    /// A redirect that is not followed, or another mistake that another try repeats.
    #[error("{0}")]
    Permanent(String),
}

/// When a server wants to be asked again (RFC 9110, 10.2.3).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum After {
    Wait(Duration),
    At(DateTime<Utc>),
}

/// An address that only a workspace which says so fetches from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "{0} lies on this machine or in a private network; write private = true under [fetch] if \
     that is meant"
)]
pub(super) struct PrivateAddress(pub(super) IpAddr);

impl PrivateAddress {
    /// The same where another table of the settings has the say.
    pub(super) fn told_of(&self, table: &str) -> String {
        self.to_string().replace("[fetch]", table)
    }
}

/// The cause at the bottom, where the reason stands; those above it say "error sending request".
fn innermost(error: &reqwest::Error) -> String {
    if error.is_timeout() {
        return "no answer in time".to_owned();
    }
    let mut cause: &dyn std::error::Error = error;
    while let Some(inner) = cause.source() {
        cause = inner;
    }
    cause.to_string()
}
