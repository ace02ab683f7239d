//! From what was made to an answer: validators and preconditions (RFC 9110), compression, and what
//! a page may load.

use super::address::Addresses;
use super::page::{self, Frame};
use super::render::{HTML, Made, Refusal};
use super::shelf::Shelf;
use axum::body::Body;
use axum::http::header::{self, HeaderName};
use axum::http::{HeaderMap, HeaderValue, Response, StatusCode};
use chrono::{DateTime, Utc};
use serde::Serialize;
use serde_json::json;

/// Nothing but our own style sheet; forms go to us alone.
pub(super) const POLICY: &str = "default-src 'none'; style-src 'self'; img-src 'self'; font-src 'self'; \
    form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Kept anywhere, but asked about each time: what it says changes with the store.
const CACHING: &str = "public, no-cache";

/// Such a date as `Mon, 06 Apr 2026 02:30:00 GMT` (RFC 9110, 5.6.7).
const IMF_FIXDATE: &str = "%a, %d %b %Y %H:%M:%S GMT";

/// The answer to a question with these fields.
pub(super) fn of(made: &Made, asked: &HeaderMap) -> Response<Body> {
    let gzip = takes_gzip(asked);
    // bytes that differ have tags that differ (RFC 9110, 8.8.3.3)
    let tag = match gzip {
        true => format!("\"{}-gzip\"", made.tag),
        false => format!("\"{}\"", made.tag),
    };
    let known = is_known(asked, &tag, made.since);
    let mut answer = Response::new(match (known, gzip) {
        (true, _) => Body::empty(),
        (false, true) => Body::from(made.gzip.clone()),
        (false, false) => Body::from(made.body.clone()),
    });
    if known {
        *answer.status_mut() = StatusCode::NOT_MODIFIED;
    } else {
        put(&mut answer, header::CONTENT_TYPE, made.kind);
        if gzip {
            put(&mut answer, header::CONTENT_ENCODING, "gzip");
        }
    }
    let since = made.since.format(IMF_FIXDATE).to_string();
    put(&mut answer, header::ETAG, &tag);
    put(&mut answer, header::LAST_MODIFIED, &since);
    put(&mut answer, header::VARY, "accept-encoding");
    put(&mut answer, header::CACHE_CONTROL, CACHING);
    put(&mut answer, header::CONTENT_SECURITY_POLICY, POLICY);
    answer
}

fn put(answer: &mut Response<Body>, name: HeaderName, value: &str) {
    // ours are all visible ASCII
    if let Ok(value) = HeaderValue::from_str(value) {
        answer.headers_mut().insert(name, value);
    }
}

/// Does a field list gzip, and not with the weight 0?
fn takes_gzip(asked: &HeaderMap) -> bool {
    let fields = asked.get_all(header::ACCEPT_ENCODING).iter();
    let listed = fields
        .filter_map(|f| f.to_str().ok())
        .flat_map(|f| f.split(','));
    let mut listed = listed.map(|coding| coding.replace(' ', "").to_ascii_lowercase());
    listed.any(|coding| match coding.split_once(";q=") {
        None => coding == "gzip",
        Some((name, weight)) => name == "gzip" && weight.parse().is_ok_and(|w: f32| w > 0.0),
    })
}

/// Has the asker these bytes already? `If-None-Match` is compared weakly; where it is there,
/// `If-Modified-Since` counts for nothing, nor does a date that is none (RFC 9110, 13.1.2, 13.1.3,
/// 13.2.2).
pub fn is_known(asked: &HeaderMap, tag: &str, since: DateTime<Utc>) -> bool {
    let tags: Vec<&str> = asked
        .get_all(header::IF_NONE_MATCH)
        .iter()
        .map(|field| field.to_str().unwrap_or_default())
        .collect();
    if !tags.is_empty() {
        let mut listed = tags
            .iter()
            .flat_map(|field| field.split(','))
            .map(str::trim);
        return listed.any(|one| one == "*" || one.strip_prefix("W/").unwrap_or(one) == tag);
    }
    let field = asked.get(header::IF_MODIFIED_SINCE);
    let date = field.and_then(|f| DateTime::parse_from_rfc2822(f.to_str().ok()?).ok());
    date.is_some_and(|date| since <= date)
}

#[derive(Serialize)]
struct RefusalView {
    said: String,
}

/// The answer where nothing is sent: a page for people. It says nothing of what was asked for, so
/// that what is withheld looks like what never was.
pub(super) fn refusal(shelf: &Shelf, path: &str, refusal: &Refusal) -> Response<Body> {
    let (code, title, said) = words(refusal);
    if path.starts_with("/api/") {
        return problem(code, title, &said);
    }
    let addresses = shelf.addresses();
    let frame = match &shelf.snapshot {
        Some(snapshot) => Frame {
            title: title.to_owned(),
            ..Frame::new(title, snapshot, &addresses)
        },
        None => Frame::bare(title, &Addresses::Service(String::new())),
    };
    let text = page::render("error.html", &frame, &RefusalView { said: said.clone() });
    let text = text.unwrap_or(said);
    refused(code, HTML, text)
}

/// The same for programs: problem details (RFC 9457).
fn problem(code: StatusCode, title: &str, said: &str) -> Response<Body> {
    let problem = json!({
        "type": "about:blank",
        "title": title,
        "status": code.as_u16(),
        "detail": said,
    });
    refused(code, "application/problem+json", format!("{problem:#}\n"))
}

fn refused(code: StatusCode, kind: &str, text: String) -> Response<Body> {
    let mut answer = Response::new(Body::from(text));
    *answer.status_mut() = code;
    put(&mut answer, header::CONTENT_TYPE, kind);
    put(&mut answer, header::CACHE_CONTROL, "no-store");
    put(&mut answer, header::CONTENT_SECURITY_POLICY, POLICY);
    answer
}

/// Status, a title, and a sentence.
pub(super) fn words(refusal: &Refusal) -> (StatusCode, &'static str, String) {
    match refusal {
        Refusal::Absent => (
            StatusCode::NOT_FOUND,
            "Nothing is here",
            "There is no such page. It may have moved, or the address has a slip of the pen."
                .to_owned(),
        ),
        Refusal::Beyond(why) => (StatusCode::NOT_FOUND, "Nothing is here", format!("{why}.")),
        Refusal::Wrong(why) => (
            StatusCode::BAD_REQUEST,
            "That was not understood",
            format!("{why}."),
        ),
        Refusal::Broken => (
            StatusCode::SERVICE_UNAVAILABLE,
            "Not at the moment",
            "This cannot be shown at the moment. Please try again later.".to_owned(),
        ),
    }
}
