//! `/health` and `/metrics`, and the bounds of all pages.

use super::Service;
use super::status::{Status, View};
use crate::guard::plain;
use crate::subscribers::SubscribersError;
use axum::Router;
use axum::body::Body;
use axum::extract::State;
use axum::http::{HeaderName, HeaderValue, Response, StatusCode, header};
use axum::middleware::from_fn;
use axum::routing::get;
use std::sync::Arc;
use std::time::Duration;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::TimeoutLayer;

/// No page takes longer, and but for the keeper nobody has so much to say to one.
const LONGEST: Duration = Duration::from_secs(10);
const MOST_BYTES: usize = 64 * 1024;

/// What every answer says: nothing from elsewhere, no script, in no frame.
const HEADERS: [(HeaderName, &str); 4] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::CACHE_CONTROL, "no-store"),
];

/// The service's own pages.
pub(super) fn router(service: Arc<Service>) -> Router {
    Router::new()
        .route("/health", get(health))
        .route("/metrics", get(metrics))
        .with_state(service)
}

/// With bounds on time and length. The keeper's pages take as much as their forms hold, and see to it
/// themselves.
pub(super) fn bounded(pages: Router, desk: Router) -> Router {
    let pages = pages.layer(RequestBodyLimitLayer::new(MOST_BYTES));
    let bounded = pages.merge(desk).layer(TimeoutLayer::with_status_code(
        StatusCode::SERVICE_UNAVAILABLE,
        LONGEST,
    ));
    let bounded = bounded.layer(from_fn(plain::worded));
    HEADERS.into_iter().fold(bounded, |pages, (name, value)| {
        let value = HeaderValue::from_static(value);
        pages.layer(SetResponseHeaderLayer::if_not_present(name, value))
    })
}

type Answer = Response<Body>;

async fn health(State(service): State<Arc<Service>>) -> Answer {
    let (code, value) = match status(&service).await {
        Ok(status) if status.reasons.is_empty() => (StatusCode::OK, status.health()),
        Ok(status) => (StatusCode::SERVICE_UNAVAILABLE, status.health()),
        Err(why) => (
            StatusCode::SERVICE_UNAVAILABLE,
            serde_json::json!({ "status": "failing", "reasons": [why] }),
        ),
    };
    answer(code, "application/json", format!("{value:#}\n"))
}

async fn metrics(State(service): State<Arc<Service>>) -> Answer {
    match status(&service).await {
        Ok(status) => {
            let text = service.metrics.text(&status.looked());
            answer(StatusCode::OK, "text/plain; version=0.0.4", text)
        }
        Err(why) => unable(&why),
    }
}

impl Service {
    /// How the service stands, in words.
    pub(super) async fn told(self: &Arc<Self>) -> Result<View, SubscribersError> {
        let status = status(self).await.map_err(SubscribersError::Settings)?;
        Ok(self.words(&status))
    }
}

async fn status(service: &Arc<Service>) -> Result<Status, String> {
    let looking = Arc::clone(service);
    let status = service.tables(move |conn| looking.status(conn)).await;
    status.map_err(|error| error.to_string())
}

fn unable(why: &str) -> Answer {
    tracing::error!("{why}");
    let text = "The status cannot be told; the log says why.\n".to_owned();
    answer(StatusCode::SERVICE_UNAVAILABLE, "text/plain", text)
}

fn answer(code: StatusCode, kind: &'static str, text: String) -> Answer {
    let mut answer = Response::new(Body::from(text));
    *answer.status_mut() = code;
    let kind = HeaderValue::from_static(kind);
    answer.headers_mut().insert(header::CONTENT_TYPE, kind);
    answer
}
