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
            let wish = match desk.wished(&headers, &body)? {
                Ok(wish) => wish,
                Err(wrong) => return desk.form((wrong.code, Some(&wrong.why)), &wrong.chosen),
            };
            rows::ask(&mut desk.conn, &wish.address, &wish.choices, desk.now)?;
            let _in_runtime = handle.enter();
            poster.post(Arc::clone(&desk.workspace));
            Ok(answer::see("subscribe/asked"))
        })
        .await
}

/// What somebody wants.
struct Wish {
    address: Address,
    choices: Choices,
}

/// A form that nothing can be made of, and what of it is kept for another try.
struct Wrong {
    code: StatusCode,
    why: String,
    chosen: Choices,
}

const TOO_OLD: &str = "This form is too old, or was not sent from this page. Please send it again.";

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

    fn wished(
        &self,
        headers: &HeaderMap,
        body: &[u8],
    ) -> Result<Result<Wish, Wrong>, SubscribersError> {
        let public = self.workspace.service.public_url.as_ref();
        let sent = forms::fields(headers, body)
            .filter(|_| forms::is_from_here(headers, public))
            .filter(|fields| forms::is_ours(&self.key, ABOUT, fields, self.now));
        let Some(fields) = sent else {
            return Ok(Err(Wrong {
                code: StatusCode::FORBIDDEN,
                why: TOO_OLD.to_owned(),
                chosen: Choices::default(),
            }));
        };
        let wrong = |why: String, chosen| Wrong {
            code: StatusCode::UNPROCESSABLE_ENTITY,
            why,
            chosen,
        };
        let choices = match Choices::read(&fields, &Offer::of(&self.workspace)?) {
            Ok(choices) => choices,
            Err(why) => return Ok(Err(wrong(why.to_string(), Choices::default()))),
        };
        let address = Address::try_from(forms::field(&fields, "mail").unwrap_or_default());
        Ok(match address {
            Ok(address) => Ok(Wish { address, choices }),
            Err(why) => Err(wrong(why.to_string(), choices)),
        })
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
            fields: Fields::of(&Offer::of(&self.workspace)?, chosen),
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
