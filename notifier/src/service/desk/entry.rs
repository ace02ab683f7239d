//! Who may see the keeper's pages: those who give the token, by a form that begins a session or with
//! each request. The token stands in the environment or in a file, and nothing is compared with it but
//! in constant time.

use crate::channel::secret;
use crate::deliveries::key::{self, hex};
use axum::http::{HeaderMap, HeaderValue, header};
use chrono::{DateTime, Utc};
use config::service::Secret;
use ingest::STORE_FOLDER;
use secrecy::{ExposeSecret, SecretString};
use sha2::{Digest, Sha256};
use std::io;
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use subtle::ConstantTimeEq;

/// The file in the store's folder where the settings name no token.
pub const FILE: &str = "keeper.token";
/// Most words and dates are shorter. It keeps those out alone: how well a written token is chosen nobody
/// can tell from its length; one made here is of 256 bits.
const SHORTEST: usize = 16;
/// A session ends by itself.
const SESSION_S: i64 = 12 * 3600;
/// Sessions at a time; the oldest goes.
const SESSIONS: usize = 32;
const COOKIE: &str = "wingtide-keeper";

/// The token and the sessions that it began.
pub struct Entry {
    token: [u8; 32],
    sessions: Mutex<Vec<Session>>,
}

struct Session {
    /// SHA-256 of what the cookie holds, which is kept nowhere.
    name: [u8; 32],
    ends: DateTime<Utc>,
}

/// Whether somebody may come in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Came {
    /// They gave the token with the request.
    ByToken,
    /// They have a session, of this name.
    BySession(String),
    /// Neither.
    NotIn,
}

impl Entry {
    /// With the token of the settings, else that of the store, which is made where there is none.
    ///
    /// # Errors
    /// A sentence that says why there is none; nothing of the token stands in it.
    pub fn open(workspace_root: &Path, written: Option<&Secret>) -> Result<Self, String> {
        let token = match written {
            Some(written) => secret::read(written).map_err(|why| no_token(&why))?,
            None => of_store(workspace_root).map_err(|why| no_token(&why))?,
        };
        if token.expose_secret().len() < SHORTEST {
            let why = format!("it is shorter than {SHORTEST} characters");
            return Err(no_token(&why));
        }
        Ok(Entry {
            token: sum(token.expose_secret()),
            sessions: Mutex::default(),
        })
    }

    /// Whether that is the token.
    pub(super) fn is_token(&self, given: &str) -> bool {
        bool::from(sum(given).ct_eq(&self.token))
    }

    /// By what somebody comes in.
    pub(super) fn came(&self, headers: &HeaderMap, now: DateTime<Utc>) -> Came {
        let field = |name| {
            headers
                .get(name)
                .and_then(|v: &HeaderValue| v.to_str().ok())
        };
        // RFC 6750, 2.1; the scheme's case is of no matter (RFC 9110, 11.1)
        let given = field(header::AUTHORIZATION).and_then(|f| f.split_once(' '));
        let bearer = given.filter(|(scheme, _)| scheme.eq_ignore_ascii_case("bearer"));
        if let Some((_, token)) = bearer {
            if self.is_token(token.trim()) {
                return Came::ByToken;
            }
            tracing::warn!("a wrong keeper's token was given with a request");
        }
        let cookies = field(header::COOKIE).unwrap_or_default().split(';');
        let mut pairs = cookies.filter_map(|pair| pair.trim().split_once('='));
        let Some((_, value)) = pairs.find(|(name, _)| *name == COOKIE) else {
            return Came::NotIn;
        };
        let name = sum(value);
        let sessions = self.sessions.lock().unwrap_or_else(PoisonError::into_inner);
        let mut known = sessions.iter().filter(|s| now < s.ends);
        match known.any(|s| bool::from(s.name.ct_eq(&name))) {
            true => Came::BySession(hex(&name)),
            false => Came::NotIn,
        }
    }

    /// Begins a session; gives its cookie and its name.
    pub(super) fn begin(
        &self,
        headers: &HeaderMap,
        now: DateTime<Utc>,
    ) -> io::Result<(HeaderValue, String)> {
        let value = hex(&key::random()?);
        let name = sum(&value);
        let session = Session {
            name,
            ends: now + chrono::TimeDelta::seconds(SESSION_S),
        };
        let mut sessions = self.sessions.lock().unwrap_or_else(PoisonError::into_inner);
        sessions.retain(|s| now < s.ends);
        if sessions.len() >= SESSIONS {
            sessions.remove(0);
        }
        sessions.push(session);
        // the browser tells whether the way here is private
        let origin = headers.get(header::ORIGIN).and_then(|o| o.to_str().ok());
        let secure = match origin.is_some_and(|o| o.starts_with("https:")) {
            true => "; Secure",
            false => "",
        };
        let cookie =
            format!("{COOKIE}={value}; Max-Age={SESSION_S}; HttpOnly; SameSite=Strict{secure}");
        let cookie = HeaderValue::from_str(&cookie).map_err(io::Error::other)?;
        Ok((cookie, hex(&name)))
    }

    /// Ends the session of that name.
    pub(super) fn end(&self, name: &str) {
        let mut sessions = self.sessions.lock().unwrap_or_else(PoisonError::into_inner);
        sessions.retain(|s| hex(&s.name) != name);
    }
}

/// What takes the cookie back.
pub(super) fn no_cookie() -> HeaderValue {
    HeaderValue::from_static("wingtide-keeper=; Max-Age=0; HttpOnly; SameSite=Strict")
}

fn sum(text: &str) -> [u8; 32] {
    Sha256::digest(text.as_bytes()).into()
}

fn no_token(why: &str) -> String {
    format!("the keeper's token cannot be used: {why}")
}

fn of_store(workspace_root: &Path) -> Result<SecretString, String> {
    let path = workspace_root.join(STORE_FOLDER).join(FILE);
    let failed = |why: io::Error| format!("{}: {why}", path.display());
    if !path.exists() {
        let made = hex(&key::random().map_err(failed)?);
        match key::write(&path, &made) {
            Err(why) if why.kind() != io::ErrorKind::AlreadyExists => return Err(failed(why)),
            _ => {}
        }
    }
    secret::read(&Secret::File(path.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().expect("an instant")
    }

    fn with(name: header::HeaderName, value: &str) -> HeaderMap {
        HeaderMap::from_iter([(name, HeaderValue::from_str(value).expect("a value"))])
    }

    fn opened() -> (tempfile::TempDir, Entry, String) {
        let root = tempfile::tempdir().expect("a folder");
        let entry = Entry::open(root.path(), None).expect("an entry");
        let path = root.path().join(STORE_FOLDER).join(FILE);
        let token = std::fs::read_to_string(&path).expect("the token");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(&path)
                .expect("the file")
                .permissions()
                .mode();
            assert_eq!(mode & 0o777, 0o600);
        }
        (root, entry, token.trim().to_owned())
    }

    #[test]
    fn the_token_opens_with_each_request() {
        let (root, entry, token) = opened();
        let now = at("2026-09-07T05:30:00Z");
        let given = |value: &str| entry.came(&with(header::AUTHORIZATION, value), now);
        assert_eq!(given(&format!("Bearer {token}")), Came::ByToken);
        assert_eq!(given(&format!("bearer {token}")), Came::ByToken);
        for wrong in [
            "Bearer",
            "Bearer ",
            &token,
            &format!("Basic {token}"),
            "Bearer x",
        ] {
            assert_eq!(given(wrong), Came::NotIn, "{wrong}");
        }
        let again = Entry::open(root.path(), None).expect("an entry");
        assert!(again.is_token(&token), "it is made once");
    }

    #[test]
    fn a_session_lasts_half_a_day_or_until_it_is_ended() {
        let (_root, entry, _) = opened();
        let now = at("2026-09-07T05:30:00Z");
        let https = with(header::ORIGIN, "https://birds.skerrow.example");
        let (cookie, begun) = entry.begin(&https, now).expect("a session");
        let text = cookie.to_str().expect("text").to_owned();
        assert!(
            text.contains("; HttpOnly; SameSite=Strict; Secure"),
            "{text}"
        );
        let pair = text.split(';').next().expect("a pair");
        let sent = with(header::COOKIE, &format!("other=1; {pair}"));
        let Came::BySession(name) = entry.came(&sent, now) else {
            panic!("{text}");
        };
        assert_eq!(name, begun);
        assert_eq!(entry.came(&sent, at("2026-09-07T17:30:00Z")), Came::NotIn);
        entry.end(&name);
        assert_eq!(entry.came(&sent, now), Came::NotIn);
        let (http, _) = entry.begin(&HeaderMap::new(), now).expect("a session");
        assert!(!http.to_str().expect("text").contains("Secure"));
    }

    #[test]
    fn a_token_that_could_be_tried_out_is_refused_and_not_told() {
        let root = tempfile::tempdir().expect("a folder");
        let path = root.path().join("short");
        std::fs::write(&path, "open-sesame\n").expect("written");
        let said = Entry::open(root.path(), Some(&Secret::File(path)));
        let said = said.err().expect("refused");
        assert!(
            said.contains("shorter than 16") && !said.contains("sesame"),
            "{said}"
        );
        let none = Secret::Environment("WINGTIDE_NO_SUCH".into());
        let said = Entry::open(root.path(), Some(&none)).err().expect("absent");
        assert!(said.contains("WINGTIDE_NO_SUCH"), "{said}");
    }
}
