//! How readers get no more digests: a page that asks, a post that does it (RFC 8058), or a mail.

use super::DeliveryError;
use super::key::StoreKey;
use super::readers::{self, Standing};
use crate::service::tables;
use axum::Router;
use axum::extract::{Path as UrlPath, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use chrono::{DateTime, Utc};
use minijinja::Environment;
use minijinja::value::Serde;
use rusqlite::Connection;
use serde::Serialize;
use std::path::PathBuf;
use std::sync::Arc;

/// What came of a wish to leave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Leaving {
    /// That reader is off the list now, or was before.
    Left {
        /// Their address.
        mail: String,
    },
    /// Nobody's token.
    Unknown,
}

/// Whose token it is.
fn holder(
    conn: &Connection,
    key: &StoreKey,
    token: &str,
) -> Result<Option<(i64, String)>, DeliveryError> {
    let Some(number) = StoreKey::number(token) else {
        return Ok(None);
    };
    let mail = readers::mail(conn, number)?;
    let own = mail.filter(|mail| key.holds(token, number, mail));
    Ok(own.map(|mail| (number, mail)))
}

/// Takes the token's holder off the list.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be used.
pub fn leave(
    conn: &Connection,
    key: &StoreKey,
    token: &str,
    now: DateTime<Utc>,
) -> Result<Leaving, DeliveryError> {
    let Some((number, mail)) = holder(conn, key, token)? else {
        return Ok(Leaving::Unknown);
    };
    let why = readers::OWN_WISH;
    readers::put_away(conn, number, Standing::Left, why, now.timestamp())?;
    Ok(Leaving::Left { mail })
}

/// What the page needs to know.
#[derive(Clone)]
pub struct LeavePage {
    /// The workspace's folder.
    pub root: PathBuf,
    /// The digest's title.
    pub title: String,
    /// Whom to ask, where somebody is named.
    pub keeper: Option<String>,
    /// What time it is.
    pub clock: Arc<dyn Fn() -> DateTime<Utc> + Send + Sync>,
}

/// The page as its template sees it.
#[derive(Serialize)]
struct PageView<'a> {
    step: &'a str,
    title: &'a str,
    keeper: Option<&'a str>,
}

/// `/leave/TOKEN`: a GET asks and changes nothing, since mail readers and filters open links
/// on their own; a POST does it, with or without a form's content.
pub fn router(page: LeavePage) -> Router {
    Router::new()
        .route("/leave/{token}", get(ask).post(act))
        .with_state(page)
}

async fn ask(State(page): State<LeavePage>, UrlPath(token): UrlPath<String>) -> Response {
    blocking(move || {
        let (conn, key) = page.open()?;
        let known = holder(&conn, &key, &token)?.is_some();
        Ok(page.render(if known { "ask" } else { "unknown" }))
    })
    .await
}

async fn act(State(page): State<LeavePage>, UrlPath(token): UrlPath<String>) -> Response {
    blocking(move || {
        let (conn, key) = page.open()?;
        Ok(match leave(&conn, &key, &token, (page.clock)())? {
            Leaving::Left { .. } => page.render("left"),
            Leaving::Unknown => page.render("unknown"),
        })
    })
    .await
}

/// The tables are files, which tokio's own threads must not wait for.
async fn blocking(
    work: impl FnOnce() -> Result<Response, DeliveryError> + Send + 'static,
) -> Response {
    match tokio::task::spawn_blocking(work).await {
        Ok(Ok(response)) => response,
        Ok(Err(error)) => {
            tracing::error!("a reader could not leave: {error}");
            failed()
        }
        Err(_) => failed(),
    }
}

fn failed() -> Response {
    let words = "This does not work at the moment. Please try again later.\n";
    (StatusCode::SERVICE_UNAVAILABLE, words).into_response()
}

impl LeavePage {
    fn open(&self) -> Result<(Connection, StoreKey), DeliveryError> {
        Ok((tables::open(&self.root)?, StoreKey::open(&self.root)?))
    }

    fn render(&self, step: &str) -> Response {
        let mut env = Environment::new();
        let made = env
            .add_template("style.html", include_str!("../../templates/style.html"))
            .and_then(|()| {
                let page = include_str!("../../templates/leave.html");
                let (title, keeper) = (&self.title, &self.keeper);
                let view = PageView {
                    step,
                    title,
                    keeper: keeper.as_deref(),
                };
                env.render_named_str("leave.html", page, Serde(&view))
            });
        let Ok(body) = made else {
            return failed();
        };
        let status = match step {
            "unknown" => StatusCode::NOT_FOUND,
            _ => StatusCode::OK,
        };
        let fields = [
            (header::CONTENT_TYPE, "text/html; charset=utf-8"),
            (header::CACHE_CONTROL, "no-store"),
            // the address is a key: it goes to no other page
            (header::REFERRER_POLICY, "no-referrer"),
            (
                header::CONTENT_SECURITY_POLICY,
                "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; \
                 frame-ancestors 'none'",
            ),
        ];
        (status, fields, body).into_response()
    }
}
