//! Answers to those who fill in forms.

use crate::subscribers::SubscribersError;
use crate::web::page::{self, Frame, Link};
use axum::body::Body;
use axum::http::header::{self, HeaderName};
use axum::http::{HeaderValue, StatusCode};
use axum::response::Response;
use serde::Serialize;

/// Nothing from elsewhere and no script; the browser tells with each form from which page it comes
/// (which "no-referrer" would keep it from), and the address, which is a key, goes nowhere else.
const FIELDS: [(HeaderName, &str); 4] = [
    (header::CONTENT_TYPE, "text/html; charset=utf-8"),
    (header::CACHE_CONTROL, "no-store"),
    (header::REFERRER_POLICY, "same-origin"),
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; style-src 'self'; form-action 'self'; base-uri 'none'; \
         frame-ancestors 'none'",
    ),
];

/// A page from its template.
pub(crate) fn page(
    code: StatusCode,
    template: &str,
    frame: &Frame,
    view: &impl Serialize,
) -> Result<Response, SubscribersError> {
    let mut answer = Response::new(Body::from(page::render(template, frame, view)?));
    *answer.status_mut() = code;
    for (name, value) in FIELDS {
        answer
            .headers_mut()
            .insert(name, HeaderValue::from_static(value));
    }
    Ok(answer)
}

#[derive(Serialize)]
struct Said<'a> {
    said: &'a [&'a str],
    /// Where to go on.
    way: Option<Link>,
}

/// A page that says something, a paragraph each.
pub(crate) fn words(
    code: StatusCode,
    frame: &Frame,
    said: &[&str],
) -> Result<Response, SubscribersError> {
    words_with(code, frame, said, None)
}

/// The same with a way to go on.
pub(crate) fn words_with(
    code: StatusCode,
    frame: &Frame,
    said: &[&str],
    way: Option<Link>,
) -> Result<Response, SubscribersError> {
    page(code, "said.html", frame, &Said { said, way })
}

/// To another page of ours, by a reference that holds nothing of what was asked.
pub(crate) fn see(other: &'static str) -> Response {
    let mut answer = Response::new(Body::empty());
    *answer.status_mut() = StatusCode::SEE_OTHER;
    let fields = answer.headers_mut();
    fields.insert(header::LOCATION, HeaderValue::from_static(other));
    fields.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    answer
}

/// Where nothing can be shown; the log says why.
pub(crate) fn unable() -> Response {
    let mut answer = Response::new(Body::from(
        "This does not work at the moment. Please try again later.\n",
    ));
    *answer.status_mut() = StatusCode::SERVICE_UNAVAILABLE;
    let plain = HeaderValue::from_static("text/plain; charset=utf-8");
    answer.headers_mut().insert(header::CONTENT_TYPE, plain);
    answer
}
