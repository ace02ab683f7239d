//! One question to an address.

use super::failure::{After, Failure, FetchError, PrivateAddress};
use super::kept::{Kept, Validators};
use super::private::{PublicNames, refuse_literal};
use config::settings::FetchSettings;
use reqwest::header::{self, HeaderMap, HeaderName};
use reqwest::{Response, StatusCode, redirect};
use std::sync::Arc;
use url::Url;

/// What an address answers.
pub(super) enum Answer {
    /// What the copy holds (304).
    Unchanged,
    /// What it holds now.
    Body {
        bytes: Vec<u8>,
        validators: Validators,
    },
}

/// Asks addresses within the limits of the settings.
pub(super) struct Client {
    http: reqwest::Client,
    max_mib: u64,
    private: bool,
}

impl Client {
    pub(super) fn new(settings: &FetchSettings) -> Result<Self, FetchError> {
        let private = settings.private;
        Ok(Client {
            http: http(settings, redirects(settings.redirects, private))?,
            max_mib: settings.max_mib,
            private,
        })
    }

    /// Asks once; `received` hears of the bytes so far.
    pub(super) async fn ask(
        &self,
        url: &Url,
        kept: Option<&Kept>,
        received: &mut dyn FnMut(u64),
    ) -> Result<Answer, Failure> {
        if !self.private {
            refuse_literal(url).map_err(Failure::Private)?;
        }
        let mut request = self.http.get(url.clone());
        for (name, value) in kept
            .into_iter()
            .flat_map(|k| k.about.validators.conditions())
        {
            request = request.header(name, value);
        }
        let response = request.send().await.map_err(sort)?;
        match response.status() {
            StatusCode::OK => self.body(response, received).await,
            StatusCode::NOT_MODIFIED if kept.is_some() => Ok(Answer::Unchanged),
            status => Err(refusal(status, response.headers())),
        }
    }

    async fn body(
        &self,
        mut response: Response,
        received: &mut dyn FnMut(u64),
    ) -> Result<Answer, Failure> {
        let too_long = || Failure::TooLong {
            max_mib: self.max_mib,
        };
        let most = self.max_mib << 20;
        if response
            .content_length()
            .is_some_and(|length| length > most)
        {
            return Err(too_long());
        }
        let validators = Validators::of(response.headers());
        let mut bytes = Vec::new();
        while let Some(chunk) = response.chunk().await.map_err(sort)? {
            if (bytes.len() + chunk.len()) as u64 > most {
                return Err(too_long());
            }
            bytes.extend_from_slice(&chunk);
            received(bytes.len() as u64);
        }
        Ok(Answer::Body { bytes, validators })
    }
}

/// A client that keeps to the settings and reaches what they allow.
pub(super) fn http(
    settings: &FetchSettings,
    redirects: redirect::Policy,
) -> Result<reqwest::Client, FetchError> {
    // an error says that another part of the program was first, with the same
    let _ = rustls::crypto::ring::default_provider().install_default();
    let http = reqwest::Client::builder()
        .user_agent(concat!("wingtide/", env!("CARGO_PKG_VERSION")))
        .timeout(settings.timeout)
        .redirect(redirects)
        // a proxy would look the names up itself, unjudged
        .no_proxy();
    let http = match settings.private {
        true => http,
        false => http.dns_resolver(Arc::new(PublicNames::new())),
    };
    http.build().map_err(FetchError::Client)
}

/// Why a redirect is not followed.
#[derive(Debug, thiserror::Error)]
enum Astray {
    #[error("it redirects more than {0} times")]
    TooOften(u32),
    #[error("it redirects from https to {0}, which is open to everyone on the way")]
    Unsafe(Url),
}

fn redirects(most: u32, private: bool) -> redirect::Policy {
    redirect::Policy::custom(move |attempt| {
        let from_https = attempt.previous().last().map(Url::scheme) == Some("https");
        if attempt.previous().len() > most as usize {
            return attempt.error(Astray::TooOften(most));
        }
        if from_https && attempt.url().scheme() != "https" {
            let to = attempt.url().clone();
            return attempt.error(Astray::Unsafe(to));
        }
        match refuse_literal(attempt.url()) {
            Err(literal) if !private => attempt.error(literal),
            _ => attempt.follow(),
        }
    })
}

/// The kind of an error on the way.
pub(super) fn sort(error: reqwest::Error) -> Failure {
    let mut cause: Option<&(dyn std::error::Error + 'static)> = Some(&error);
    while let Some(inner) = cause {
        if let Some(private) = inner.downcast_ref::<PrivateAddress>() {
            return Failure::Private(*private);
        }
        if let Some(astray) = inner.downcast_ref::<Astray>() {
            return Failure::Permanent(astray.to_string());
        }
        cause = inner.source();
    }
    Failure::Transient(error)
}

/// The kind of an answer that is no body. The statuses that may pass: RFC 9110, 15.5.9, 15.6.1
/// and 15.6.3 to 15.6.5; RFC 8470, 5.2; RFC 6585, 4.
pub(super) fn refusal(status: StatusCode, headers: &HeaderMap) -> Failure {
    let after = text(headers, &header::RETRY_AFTER);
    let after = after.as_deref().and_then(After::read);
    match status.as_u16() {
        408 | 425 | 429 | 500 | 502 | 503 | 504 => Failure::Later { status, after },
        _ => Failure::Refused(status),
    }
}

/// A field's value, where it is text.
pub(super) fn text(headers: &HeaderMap, name: &HeaderName) -> Option<String> {
    let value = headers.get(name)?.to_str().ok()?;
    Some(value.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Read, Write};
    use std::net::TcpListener;

    /// Answers one request by sending it elsewhere.
    fn sends_to(location: String) -> u16 {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let port = listener.local_addr().expect("an address").port();
        std::thread::spawn(move || {
            let (mut stream, _) = listener.accept().expect("a client");
            let _ = stream.read(&mut [0; 1024]);
            let answer =
                format!("HTTP/1.1 302 Found\r\nLocation: {location}\r\nContent-Length: 0\r\n\r\n");
            stream.write_all(answer.as_bytes()).expect("an answer");
        });
        port
    }

    /// From a name that is taken for public to this machine, however it is written.
    #[test]
    fn a_redirect_inwards_is_not_followed() {
        let _ = rustls::crypto::ring::default_provider().install_default();
        let inner = TcpListener::bind("127.0.0.1:0").expect("a port");
        inner.set_nonblocking(true).expect("it does not wait");
        let port = inner.local_addr().expect("an address").port();
        for host in [
            "127.0.0.1",
            "2130706433",
            "0177.0.0.1",
            "[::ffff:127.0.0.1]",
            "169.254.169.254",
        ] {
            let outer = sends_to(format!("http://{host}:{port}/"));
            let client = reqwest::Client::builder()
                .redirect(redirects(5, false))
                .resolve("outside.example", ([127, 0, 0, 1], outer).into())
                .no_proxy()
                .build()
                .expect("a client");
            let runtime = tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build();
            let asked = client
                .get(format!("http://outside.example:{outer}/"))
                .send();
            let error = runtime
                .expect("a runtime")
                .block_on(asked)
                .expect_err("refused");
            assert!(matches!(sort(error), Failure::Private(_)), "{host}");
        }
        assert!(inner.accept().is_err(), "nobody came");
    }
}
