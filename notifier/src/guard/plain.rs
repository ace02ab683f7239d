//! Pages that cost nothing to make and ask for nothing more, not even a style sheet: for those who ask
//! too much, or for what cannot be done.

use axum::body::Body;
use axum::extract::Request;
use axum::http::header::{self, HeaderName};
use axum::http::{HeaderValue, Response, StatusCode};
use axum::middleware::Next;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::json;
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

const PAGE: &str = include_str!("../../templates/web/plain.html");
const STYLE: &str = include_str!("../../templates/web/plain.css");

/// Nothing but the style within the page, known by its hash (CSP level 3, section 2.3.1).
static POLICY: LazyLock<String> = LazyLock::new(|| {
    let hash = STANDARD.encode(Sha256::digest(STYLE));
    format!(
        "default-src 'none'; style-src 'sha256-{hash}'; base-uri 'none'; frame-ancestors 'none'"
    )
});

/// What is said, in words of ours alone.
pub(crate) struct Plain {
    pub(crate) code: StatusCode,
    pub(crate) title: &'static str,
    pub(crate) words: &'static str,
}

const NOT_SO: Plain = Plain {
    code: StatusCode::METHOD_NOT_ALLOWED,
    title: "Not in this way",
    words: "What is here can be asked for, but nothing can be sent, changed or removed in this way. \
        Nothing was changed.",
};
const TOO_LONG: Plain = Plain {
    code: StatusCode::SERVICE_UNAVAILABLE,
    title: "Not at the moment",
    words: "This took too long. Please try again in a minute.",
};

impl Plain {
    /// As a page.
    pub(crate) fn page(&self) -> Response<Body> {
        let text = PAGE.replace("TITLE", self.title);
        let text = text.replace("WORDS", self.words).replace("STYLE", STYLE);
        self.answer("text/html; charset=utf-8", text)
    }

    /// For programs: problem details (RFC 9457).
    fn problem(&self) -> Response<Body> {
        let problem = json!({
            "type": "about:blank",
            "title": self.title,
            "status": self.code.as_u16(),
            "detail": self.words,
        });
        self.answer("application/problem+json", format!("{problem:#}\n"))
    }

    fn answer(&self, kind: &'static str, text: String) -> Response<Body> {
        let mut answer = Response::new(Body::from(text));
        *answer.status_mut() = self.code;
        let mut put = |name: HeaderName, value| {
            answer.headers_mut().insert(name, value);
        };
        put(header::CONTENT_TYPE, HeaderValue::from_static(kind));
        put(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
        // base64 and what stands around it are visible ASCII
        if let Ok(policy) = HeaderValue::from_str(&POLICY) {
            put(header::CONTENT_SECURITY_POLICY, policy);
        }
        answer
    }
}

/// Gives words to answers that have a code alone, as those have that our libraries make.
pub(crate) async fn worded(request: Request, next: Next) -> Response<Body> {
    let is_program = request.uri().path().starts_with("/api/");
    let answer = next.run(request).await;
    let said = match answer.status() {
        StatusCode::METHOD_NOT_ALLOWED => &NOT_SO,
        StatusCode::SERVICE_UNAVAILABLE => &TOO_LONG,
        _ => return answer,
    };
    if answer.headers().contains_key(header::CONTENT_TYPE) {
        return answer;
    }
    let mut worded = match is_program {
        true => said.problem(),
        false => said.page(),
    };
    // which ways there are (RFC 9110, 15.5.6)
    if let Some(ways) = answer.headers().get(header::ALLOW) {
        worded.headers_mut().insert(header::ALLOW, ways.clone());
    }
    worded
}
