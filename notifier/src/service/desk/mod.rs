//! The keeper's pages: `/keeper` tells how the service stands, to those who have the token.

pub mod entry;
mod looks;
mod second_looks;

use super::Service;
use super::status::View as Told;
use crate::deliveries::key::StoreKey;
use crate::guard::forms;
use crate::guard::rate::{self, Counted};
use crate::subscribers::SubscribersError;
use crate::subscribers::pages::{answer, frame};
use axum::Router;
use axum::body::{Body, Bytes, HttpBody};
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::Response;
use axum::routing::{get, post};
use entry::{Came, Entry};
use looks::{Looked, Record};
use second_looks::{Looks, Typed};
use serde::Serialize;
use std::future::poll_fn;
use std::pin::Pin;
use std::sync::{Arc, Mutex};
use tower::ServiceExt;
use tower_http::limit::RequestBodyLimitLayer;

/// What the keeper's pages work on.
struct Desk {
    service: Arc<Service>,
    entry: Entry,
    key: StoreKey,
    /// How the forecasts did, worked out once for each load.
    record: Mutex<Option<Record>>,
    /// What is asked about, worked out once for each state of the store.
    looks: Arc<Looks>,
}

/// The pages, with bounds on how often one peer may ask and try.
pub(super) fn router(
    service: Arc<Service>,
    (entry, key): (Entry, StoreKey),
    counted: &Counted,
) -> Router {
    let desk = Arc::new(Desk {
        service,
        entry,
        key,
        record: Mutex::default(),
        looks: Arc::default(),
    });
    let pages: Router = Router::new()
        .route("/keeper", get(show))
        .route("/keeper/leave", post(leave))
        .route(
            "/keeper/second-looks",
            get(second_looks::show).post(second_looks::answer),
        )
        .with_state(Arc::clone(&desk));
    let form: Router = Router::new()
        .route("/keeper/enter", post(enter))
        .with_state(Arc::clone(&desk));
    let tries = rate::bounded(form.merge(pages.clone()), rate::LOGINS, counted);
    let form: Router = Router::new()
        .route("/keeper/enter", post(tried))
        .with_state(tries.clone());
    let looks = rate::bounded(pages, rate::FORMS, counted);
    let pages = form.merge(looks.route_layer(from_fn_with_state(tries, parted)));
    let pages = pages.layer(RequestBodyLimitLayer::new(MOST_BYTES));
    pages.layer(from_fn_with_state(desk, measured))
}

/// Two texts as long as the form has them, of letters of 4 bytes, each byte sent as three ("%F0"); and
/// ample room for the rest.
const MOST_BYTES: usize = 2 * 12 * second_looks::LONGEST + 64 * 1024;

/// What tells its length and is too long gets a page that says so.
async fn measured(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let told = request.headers().get(header::CONTENT_LENGTH);
    let told = told.and_then(|length| length.to_str().ok()?.parse::<usize>().ok());
    match told.is_some_and(|length| length > MOST_BYTES) {
        true => {
            hear_out(request.into_body()).await;
            answered(desk.too_long())
        }
        false => next.run(request).await,
    }
}

/// Who is not heard out sees a broken connection and no answer; beyond this much it is meant so.
const HEARD: usize = 8 * MOST_BYTES;

/// Lets go of what comes, as it comes.
async fn hear_out(mut body: Body) {
    let mut heard = 0;
    while heard < HEARD {
        let frame = poll_fn(|cx| Pin::new(&mut body).poll_frame(cx)).await;
        let Some(Ok(frame)) = frame else { return };
        heard += frame.data_ref().map_or(0, |data| data.len());
    }
}

/// One of the tries at the token.
async fn tried(State(tries): State<Router>, request: Request) -> Response {
    match tries.oneshot(request).await {
        Ok(answer) => answer,
        Err(never) => match never {},
    }
}

/// A token that comes with the request is a try like one in the form, and counted with those.
async fn parted(State(tries): State<Router>, request: Request, next: Next) -> Response {
    match request.headers().contains_key(header::AUTHORIZATION) {
        true => tried(State(tries), request).await,
        false => next.run(request).await,
    }
}

#[derive(Serialize)]
struct Enter<'a> {
    code: String,
    wrong: Option<&'a str>,
    /// Where the form goes, from the page that it stands on.
    to: &'static str,
    /// An answer to a second look that came without a session: its fields by name.
    carried: Vec<(&'static str, &'a str)>,
}

#[derive(Serialize)]
struct Page {
    told: Told,
    looked: Looked,
    /// Of the form that ends the session; None for programs, which have none.
    code: Option<String>,
}

/// What the form to enter is bound to.
const ENTER: &str = "keeper";

async fn show(State(desk): State<Arc<Desk>>, headers: HeaderMap) -> Response {
    answered(desk.show(&headers).await)
}

async fn enter(State(desk): State<Arc<Desk>>, headers: HeaderMap, body: Bytes) -> Response {
    answered(desk.enter(&headers, &body).await)
}

async fn leave(State(desk): State<Arc<Desk>>, headers: HeaderMap, body: Bytes) -> Response {
    answered(desk.leave(&headers, &body).await)
}

fn answered(answer: Result<Response, SubscribersError>) -> Response {
    answer.unwrap_or_else(|why| {
        tracing::error!("the keeper's page cannot be shown: {why}");
        answer::unable()
    })
}

impl Desk {
    async fn show(&self, headers: &HeaderMap) -> Result<Response, SubscribersError> {
        let now = self.service.now();
        let code = match self.entry.came(headers, now) {
            Came::NotIn => return self.ask(StatusCode::UNAUTHORIZED, "keeper/enter", None, None),
            Came::ByToken => None,
            Came::BySession(session) => Some(forms::code(&self.key, &session, now)),
        };
        let told = self.service.told().await?;
        let looked = looks::look(&self.service, &self.record).await?;
        let title = format!("The service of {}", self.service.name);
        let frame = frame(&self.service.whole, &title);
        let page = Page { told, looked, code };
        answer::page(StatusCode::OK, "keeper.html", &frame, &page)
    }

    /// The same asked at a page below, to go on with what was typed there.
    fn ask_from_below(&self, typed: Option<&Typed>) -> Result<Response, SubscribersError> {
        self.ask(StatusCode::UNAUTHORIZED, "enter", None, typed)
    }

    fn ask(
        &self,
        code: StatusCode,
        to: &'static str,
        wrong: Option<&str>,
        typed: Option<&Typed>,
    ) -> Result<Response, SubscribersError> {
        let service = &self.service;
        let view = Enter {
            code: forms::code(&self.key, ENTER, service.now()),
            wrong,
            to,
            carried: typed.map(Typed::fields).unwrap_or_default(),
        };
        let frame = frame(&service.whole, "For the keeper");
        let mut answer = answer::page(code, "enter.html", &frame, &view)?;
        if code == StatusCode::UNAUTHORIZED {
            // RFC 9110, 11.6.1
            let way = HeaderValue::from_static("Bearer realm=\"keeper\"");
            answer.headers_mut().insert(header::WWW_AUTHENTICATE, way);
        }
        Ok(answer)
    }

    async fn enter(&self, headers: &HeaderMap, body: &[u8]) -> Result<Response, SubscribersError> {
        let typed = self.typed(headers, body);
        let again = |wrong| self.ask(StatusCode::FORBIDDEN, "enter", Some(wrong), typed.as_ref());
        let Some(fields) = self.posted(ENTER, headers, body) else {
            return again(NOT_OURS);
        };
        if !self
            .entry
            .is_token(forms::field(&fields, "token").unwrap_or_default())
        {
            tracing::warn!("a wrong keeper's token was given");
            return again("That is not the token.");
        }
        tracing::info!("the keeper came in");
        let (cookie, session) = self.entry.begin(headers, self.service.now())?;
        let mut answer = match typed {
            Some(typed) => self.go_on(&session, typed).await?,
            None => answer::see("../keeper"),
        };
        answer.headers_mut().insert(header::SET_COOKIE, cookie);
        Ok(answer)
    }

    async fn leave(&self, headers: &HeaderMap, body: &[u8]) -> Result<Response, SubscribersError> {
        let Came::BySession(session) = self.entry.came(headers, self.service.now()) else {
            return Ok(answer::see("../keeper"));
        };
        if self.posted(&session, headers, body).is_none() {
            return self.ask(StatusCode::FORBIDDEN, "enter", Some(NOT_OURS), None);
        }
        self.entry.end(&session);
        let mut answer = answer::see("../keeper");
        answer
            .headers_mut()
            .insert(header::SET_COOKIE, entry::no_cookie());
        Ok(answer)
    }

    fn too_long(&self) -> Result<Response, SubscribersError> {
        let frame = frame(&self.service.whole, "That is too long");
        answer::words(StatusCode::PAYLOAD_TOO_LARGE, &frame, &TOO_LONG)
    }

    fn posted(
        &self,
        about: &str,
        headers: &HeaderMap,
        body: &[u8],
    ) -> Option<Vec<(String, String)>> {
        let fields = forms::fields(headers, body)?;
        let here = forms::is_from_here(headers, self.service.public.as_ref());
        let ours = forms::is_ours(&self.key, about, &fields, self.service.now());
        (here && ours).then_some(fields)
    }
}

const TOO_LONG: [&str; 2] = [
    "What was sent is longer than the forms of this page hold, so nothing of it was kept.",
    "Your browser has it still: go back, make the note or what it rests on shorter, and send it again.",
];

const NOT_OURS: &str = "This form is too old, or was not sent from this page.";
