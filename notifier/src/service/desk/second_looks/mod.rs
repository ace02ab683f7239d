//! `/keeper/second-looks`: the records that are worth a second look, with the reasons, and a form for
//! what came of each. Answers go into the same trail as those of `wingtide second-look answer`.

mod answering;
mod listed;
mod page;

use super::entry::Came;
use super::{Desk, NOT_OURS, answered};
use crate::guard::forms;
use crate::subscribers::SubscribersError;
use crate::subscribers::pages::{answer as sent, frame};
use crate::subscribers::posting::blocking;
use crate::web::page::Link;
use crate::words;
use answering::Kept;
pub(super) use answering::{LONGEST, Typed};
use axum::body::Bytes;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use ingest::store::Verdict;
pub(super) use listed::Looks;
use page::{Forms, Said};
use serde::Deserialize;
use std::sync::Arc;

/// What was just kept; anything else is passed over.
#[derive(Deserialize)]
pub(super) struct Done {
    said: Option<String>,
}

impl Done {
    fn words(&self) -> Option<&'static str> {
        match self.said.as_deref()? {
            "accepted" => Some("Kept: the record stands as it is."),
            "changed" => Some(
                "Kept. Put the record right in its file too, if that is not done: the next load \
                 reads it from there.",
            ),
            "withdrawn" => Some(
                "Kept. The row stays in its file and in the store; no forecast uses it from the \
                 next load on.",
            ),
            _ => None,
        }
    }
}

/// The page.
pub(super) async fn show(
    State(desk): State<Arc<Desk>>,
    Query(done): Query<Done>,
    headers: HeaderMap,
) -> Response {
    let forms = match desk.entry.came(&headers, desk.service.now()) {
        Came::NotIn => return answered(desk.ask_from_below(None)),
        Came::ByToken => None,
        Came::BySession(session) => Some(desk.code_of(&session)),
    };
    let said = done.words().map(Said::done);
    answered(desk.second_looks(StatusCode::OK, forms, said, None).await)
}

/// The form. A session alone may send it: the code in it is bound to one.
pub(super) async fn answer(
    State(desk): State<Arc<Desk>>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    let Came::BySession(session) = desk.entry.came(&headers, desk.service.now()) else {
        let typed = desk.typed(&headers, &body);
        return answered(desk.ask_from_below(typed.as_ref()));
    };
    answered(desk.take_answer(&session, &headers, &body).await)
}

impl Desk {
    fn code_of(&self, session: &str) -> String {
        forms::code(&self.key, &about(session), self.service.now())
    }

    async fn take_answer(
        &self,
        session: &str,
        headers: &HeaderMap,
        body: &[u8],
    ) -> Result<Response, SubscribersError> {
        let code = Some(self.code_of(session));
        let Some(fields) = self.posted(&about(session), headers, body) else {
            let typed = self.typed(headers, body);
            let again = if typed.is_some() {
                AGAIN
            } else {
                "Nothing was kept."
            };
            let said = Said::wrong(format!("{NOT_OURS} {again}"));
            return self
                .second_looks(StatusCode::FORBIDDEN, code, Some(said), typed)
                .await;
        };
        let typed = Typed::of(&fields);
        let (dir, now, looks) = (self.service.dir.clone(), self.service.now(), typed.clone());
        let known = Arc::clone(&self.looks);
        match blocking(move || answering::keep(&dir, &looks, now, &known)).await {
            Ok(Kept::As(verdict)) => Ok(sent::see(done(verdict))),
            Ok(Kept::Not(status, why)) => {
                self.second_looks(status, code, Some(Said::wrong(why)), Some(typed))
                    .await
            }
            Err(SubscribersError::Settings(why)) => {
                tracing::error!("an answer to a second look cannot be kept: {why}");
                let said = Said::wrong(format!("{} {AGAIN}", unread(&why)));
                let busy = StatusCode::SERVICE_UNAVAILABLE;
                self.second_looks(busy, code, Some(said), Some(typed)).await
            }
            Err(why) => Err(why),
        }
    }

    /// What was typed into a form of this page, in whichever session; nothing of what comes from
    /// elsewhere.
    pub(super) fn typed(&self, headers: &HeaderMap, body: &[u8]) -> Option<Typed> {
        let fields = forms::fields(headers, body)?;
        let here = forms::is_from_here(headers, self.service.public.as_ref());
        let typed = Typed::of(&fields);
        (here && !typed.record.is_empty()).then_some(typed)
    }

    /// The page with what was typed before the session began.
    pub(super) async fn go_on(
        &self,
        session: &str,
        typed: Typed,
    ) -> Result<Response, SubscribersError> {
        let code = Some(self.code_of(session));
        let said = Said::wrong(format!("You are in again. {AGAIN}"));
        self.second_looks(StatusCode::OK, code, Some(said), Some(typed))
            .await
    }

    async fn second_looks(
        &self,
        status: StatusCode,
        code: Option<String>,
        said: Option<Said>,
        typed: Option<Typed>,
    ) -> Result<Response, SubscribersError> {
        let (dir, known) = (self.service.dir.clone(), Arc::clone(&self.looks));
        let listed = blocking(move || known.now(&dir)).await;
        let service = &self.service;
        let mut frame = frame(&service.whole, "Records worth a second look");
        frame.trail.push(Link::new("For the keeper", "../keeper"));
        let forms = code.map(|code| Forms { code, typed });
        let (status, view) = match listed {
            Ok(listed) => (status, page::view(&listed, said, forms.as_ref())),
            Err(SubscribersError::Settings(why)) => {
                tracing::error!("the second looks cannot be listed: {why}");
                let view = page::unlisted(unread(&why), said, forms.as_ref());
                (StatusCode::SERVICE_UNAVAILABLE, view)
            }
            Err(why) => return Err(why),
        };
        sent::page(status, "second_looks.html", &frame, &view)
    }
}

/// Where the page says that an answer was kept.
fn done(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Accepted => "?said=accepted",
        Verdict::Changed => "?said=changed",
        Verdict::Withdrawn => "?said=withdrawn",
    }
}

/// What keeps the page from being what it should be, for whoever keeps the settings.
fn unread(why: &str) -> String {
    words::stop(&format!(
        "The settings or the store cannot be read at this moment: {why}"
    ))
}

const AGAIN: &str = "Nothing was kept yet, and nothing is lost: what you typed stands below. Look at it, \
    and send it again.";

/// What the form's code is bound to.
fn about(session: &str) -> String {
    format!("second looks {session}")
}
