//! `/confirm/TOKEN`: whose address it is presses the button, once.

use super::held::{Held, Sent};
use super::view::lines;
use super::{Desk, Pages, answer};
use crate::subscribers::link::Purpose;
use crate::subscribers::rows::{self, Subscriber};
use crate::subscribers::{Offer, SubscribersError};
use axum::extract::{Path, State};
use axum::http::StatusCode;
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
    let link = Held::new(Purpose::Confirm, token);
    pages
        .opened(link, |desk, own, link| desk.confirm(own, &link.token, None))
        .await
}

/// The button.
pub(super) async fn act(
    State(pages): State<Arc<Pages>>,
    Path(token): Path<String>,
    sent: Sent,
) -> Response {
    let link = Held::new(Purpose::Confirm, token);
    pages
        .sent(link, sent, |desk, own, link, _| {
            desk.confirmed(own, &link.token)
        })
        .await
}

impl Desk {
    fn confirmed(&mut self, own: &Subscriber, token: &str) -> Result<Response, SubscribersError> {
        if !rows::confirm(&mut self.conn, own, self.now)? {
            return self.unknown();
        }
        let choices = own.link(&self.key, Purpose::Choices, self.now.timestamp());
        // beside this page, below whatever path the service has
        let choices = choices.map(|(token, _)| format!("../choices/{token}"));
        self.confirm(own, token, Some(choices))
    }

    fn confirm(
        &self,
        subscriber: &Subscriber,
        token: &str,
        done: Option<Option<String>>,
    ) -> Result<Response, SubscribersError> {
        let view = View {
            code: self.code(Purpose::Confirm, token),
            address: subscriber.masked(),
            lines: lines(&Offer::of(&self.workspace)?, subscriber.wanted()),
            done: done.is_some(),
            choices: done.flatten(),
        };
        let title = match view.done {
            true => "You are on the list",
            false => "Is this address yours?",
        };
        answer::page(StatusCode::OK, "confirm.html", &self.frame(title), &view)
    }
}
