//! `/subscribe`: a form, and an answer that is the same whoever's address it is.

use super::view::Fields;
use super::{Desk, Pages, answer};
use crate::guard::forms;
use crate::subscribers::{Address, Choices, Offer, SubscribersError, rows};
use axum::body::Bytes;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Serialize;
use std::sync::Arc;

/// What the form's code is bound to: the form itself.
const ABOUT: &str = "subscribe";

#[derive(Serialize)]
struct View<'a> {
    code: String,
    fields: Fields,
    /// What was wrong.
    wrong: Option<&'a str>,
    title: &'a str,
    mail_is_wrong: bool,
}

/// The empty form.
pub(super) async fn form(State(pages): State<Arc<Pages>>) -> Response {
    pages
        .answer(|desk| match desk.is_open() {
            true => desk.form((StatusCode::OK, None), &Choices::default()),
            false => desk.closed(),
        })
        .await
}

/// Takes it in.
pub(super) async fn send(
    State(pages): State<Arc<Pages>>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    let poster = Arc::clone(&pages);
    let handle = tokio::runtime::Handle::current();
    pages
        .answer(move |desk| {
            if !desk.is_open() {
                return desk.closed();
            }
            let public = desk.workspace.service.public_url.as_ref();
            let sent = forms::fields(&headers, &body)
                .filter(|_| forms::is_from_here(&headers, public))
                .filter(|fields| forms::is_ours(&desk.key, ABOUT, fields, desk.now));
            let Some(fields) = sent else {
                let wrong = "This form is too old, or was not sent from this page. Please send it \
                    again.";
                return desk.form((StatusCode::FORBIDDEN, Some(wrong)), &Choices::default());
            };
            let choices = match Choices::read(&fields, &Offer::of(&desk.workspace)) {
                Ok(choices) => choices,
                Err(why) => {
                    let why = why.to_string();
                    let wrong = (StatusCode::UNPROCESSABLE_ENTITY, Some(why.as_str()));
                    return desk.form(wrong, &Choices::default());
                }
            };
            let address = Address::try_from(forms::field(&fields, "mail").unwrap_or_default());
            let address = match address {
                Ok(address) => address,
                Err(why) => {
                    let why = why.to_string();
                    let wrong = (StatusCode::UNPROCESSABLE_ENTITY, Some(why.as_str()));
                    return desk.form(wrong, &choices);
                }
            };
            rows::ask(&mut desk.conn, &address, &choices, desk.now)?;
            let _in_runtime = handle.enter();
            poster.post(Arc::clone(&desk.workspace));
            Ok(answer::see("subscribe/asked"))
        })
        .await
}

/// What everybody is told.
pub(super) async fn asked(State(pages): State<Arc<Pages>>) -> Response {
    pages
        .answer(|desk| {
            if !desk.is_open() {
                return desk.closed();
            }
            let said = [
                "A mail is on its way to the address that you gave. It has a link; open it, and \
                 press the button on the page behind it. Nothing is sent to you before that.",
                "If none has come within some minutes, look where your mail program puts what it \
                 distrusts. One mail an hour goes to an address at most.",
            ];
            answer::words(StatusCode::OK, &desk.frame("Look into your mail"), &said)
        })
        .await
}

impl Desk {
    fn is_open(&self) -> bool {
        self.workspace.service.subscribe && self.workspace.mail.is_some()
    }

    fn closed(&self) -> Result<Response, SubscribersError> {
        let said = ["Nobody can put themselves on the list here. Ask whoever keeps the counts."];
        answer::words(StatusCode::NOT_FOUND, &self.frame("No list here"), &said)
    }

    fn form(
        &self,
        (code, wrong): (StatusCode, Option<&str>),
        chosen: &Choices,
    ) -> Result<Response, SubscribersError> {
        let view = View {
            code: forms::code(&self.key, ABOUT, self.now),
            fields: Fields::of(&Offer::of(&self.workspace), chosen),
            wrong,
            title: &self.workspace.digest.title,
            mail_is_wrong: code == StatusCode::UNPROCESSABLE_ENTITY,
        };
        answer::page(
            code,
            "subscribe.html",
            &self.frame("Get the digest by mail"),
            &view,
        )
    }
}
