//! `/confirm/TOKEN`: whose address it is presses the button, once.

use super::view::lines;
use super::{Desk, Pages, answer};
use crate::guard::forms;
use crate::subscribers::link::Purpose;
use crate::subscribers::rows::{self, Holder, Subscriber};
use crate::subscribers::{Offer, SubscribersError};
use axum::body::Bytes;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Serialize;
use std::sync::Arc;

#[derive(Serialize)]
struct View {
    code: String,
    address: String,
    lines: Vec<(&'static str, String)>,
    done: bool,
    choices: Option<String>,
}

/// The page: nothing happens by looking at it.
pub(super) async fn ask(State(pages): State<Arc<Pages>>, Path(token): Path<String>) -> Response {
    pages
        .answer(move |desk| {
            let held = (Purpose::Confirm, token.as_str());
            match rows::holder(&desk.conn, &desk.key, held, desk.now)? {
                Holder::Known(subscriber) => desk.confirm(&subscriber, &token, None),
                Holder::Ended => desk.ended(),
                Holder::Unknown => desk.unknown(),
            }
        })
        .await
}

/// The button.
pub(super) async fn act(
    State(pages): State<Arc<Pages>>,
    Path(token): Path<String>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    pages
        .answer(move |desk| {
            let held = (Purpose::Confirm, token.as_str());
            let subscriber = match rows::holder(&desk.conn, &desk.key, held, desk.now)? {
                Holder::Known(subscriber) => subscriber,
                Holder::Ended => return desk.ended(),
                Holder::Unknown => return desk.unknown(),
            };
            if desk.posted("confirm", &token, &headers, &body).is_none() {
                return desk.not_from_here();
            }
            if !rows::confirm(&mut desk.conn, &subscriber, desk.now)? {
                return desk.unknown();
            }
            let from = desk.now.timestamp();
            let link = subscriber.link(&desk.key, Purpose::Choices, from);
            // beside this page, below whatever path the service has
            let link = link.map(|(token, _)| format!("../choices/{token}"));
            desk.confirm(&subscriber, &token, Some(link))
        })
        .await
}

impl Desk {
    fn confirm(
        &self,
        subscriber: &Subscriber,
        token: &str,
        done: Option<Option<String>>,
    ) -> Result<Response, SubscribersError> {
        let view = View {
            code: forms::code(&self.key, &format!("confirm {token}"), self.now),
            address: subscriber.masked(),
            lines: lines(&Offer::of(&self.workspace), subscriber.wanted()),
            done: done.is_some(),
            choices: done.flatten(),
        };
        let title = match view.done {
            true => "You are on the list",
            false => "Is this address yours?",
        };
        answer::page(StatusCode::OK, "confirm.html", &self.frame(title), &view)
    }

    /// The fields of a form of ours behind a link; None where it is none.
    pub(super) fn posted(
        &self,
        page: &str,
        token: &str,
        headers: &HeaderMap,
        body: &[u8],
    ) -> Option<Vec<(String, String)>> {
        let public = self.workspace.service.public_url.as_ref();
        let about = format!("{page} {token}");
        forms::fields(headers, body)
            .filter(|_| forms::is_from_here(headers, public))
            .filter(|fields| forms::is_ours(&self.key, &about, fields, self.now))
    }

    pub(super) fn not_from_here(&self) -> Result<Response, SubscribersError> {
        let said = [
            "This was not sent from a page of ours, or the page lay open for more than a \
            day. Open the link of your mail again. Nothing was changed.",
        ];
        answer::words(
            StatusCode::FORBIDDEN,
            &self.frame("Nothing was changed"),
            &said,
        )
    }

    pub(super) fn ended(&self) -> Result<Response, SubscribersError> {
        let said = [
            "The time of this link is over. Put your address down again, and a mail with a \
            new one comes. If you are on the list, your next digest has a new one too.",
        ];
        answer::words(StatusCode::GONE, &self.frame("This link has ended"), &said)
    }

    pub(super) fn unknown(&self) -> Result<Response, SubscribersError> {
        let said = [
            "This link leads nowhere. It may have been used already, since a link to confirm \
            an address works once, or it was cut short on its way.",
        ];
        answer::words(StatusCode::NOT_FOUND, &self.frame("Nothing is here"), &said)
    }
}
