//! Sending something to an address, with the same care as fetching from one.

use super::client;
use super::failure::{After, Failure, FetchError};
use super::private::refuse_literal;
use chrono::{DateTime, Utc};
use config::settings::FetchSettings;
use reqwest::header;
use std::time::Duration;
use url::Url;

/// Posts to addresses; follows no redirect, since what is sent is meant for one place.
pub struct Poster {
    http: reqwest::Client,
    private: bool,
}

/// Why an address did not take what was sent, as phrases that follow a colon.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotTaken {
    /// Another try may succeed, after the wait that the server asks for.
    ForNow {
        /// What went wrong.
        why: String,
        /// The wait that the server asks for.
        after: Option<Duration>,
    },
    /// The address may have taken it: no whole answer came.
    Unanswered {
        /// What went wrong.
        why: String,
    },
    /// Another try comes to the same.
    ForGood {
        /// What went wrong.
        why: String,
    },
}

impl Poster {
    /// `private`: whether this machine and private networks may be reached.
    ///
    /// # Errors
    /// [`FetchError::Client`] where this machine has no certificates to trust.
    pub fn new(timeout: Duration, private: bool) -> Result<Self, FetchError> {
        let settings = FetchSettings {
            timeout,
            private,
            redirects: 0,
            ..FetchSettings::default()
        };
        let http = client::http(&settings, reqwest::redirect::Policy::none())?;
        Ok(Poster { http, private })
    }

    /// Posts the body; gives the status of an address that took it (2xx). The answer's body is
    /// not looked at. `now` is what a date to wait for is held against.
    ///
    /// # Errors
    /// [`NotTaken`], by kind.
    pub async fn post(
        &self,
        url: &Url,
        fields: &[(&str, &str)],
        body: Vec<u8>,
        now: DateTime<Utc>,
    ) -> Result<u16, NotTaken> {
        if !self.private {
            refuse_literal(url).map_err(|private| NotTaken::ForGood {
                why: private.told_of("[[webhook]]"),
            })?;
        }
        let request = self.http.post(url.clone()).body(body);
        let request = fields
            .iter()
            .fold(request, |r, (name, v)| r.header(*name, *v));
        let response = request.send().await.map_err(sort)?;
        let status = response.status();
        if status.is_success() {
            return Ok(status.as_u16());
        }
        let asked = client::text(response.headers(), &header::RETRY_AFTER);
        match client::refusal(status, response.headers()) {
            Failure::Later { .. } => Err(NotTaken::ForNow {
                why: format!("it answers {status}"),
                after: asked.and_then(|value| retry_after(&value, now)),
            }),
            _ => Err(NotTaken::ForGood {
                why: format!("it answers {status}"),
            }),
        }
    }
}

fn sort(error: reqwest::Error) -> NotTaken {
    let sent = !error.is_connect() && !error.is_builder();
    match client::sort(error) {
        Failure::Private(private) => NotTaken::ForGood {
            why: private.told_of("[[webhook]]"),
        },
        Failure::Permanent(why) => NotTaken::ForGood { why },
        other if sent => NotTaken::Unanswered {
            why: other.to_string(),
        },
        other => NotTaken::ForNow {
            why: other.to_string(),
            after: None,
        },
    }
}

/// The wait that the value of a Retry-After field asks for: seconds, or a date in any of the
/// three forms of RFC 9110, 5.6.7; None where it is neither.
pub fn retry_after(value: &str, now: DateTime<Utc>) -> Option<Duration> {
    After::read(value).map(|after| after.from(now))
}
