//! Links that somebody holds: who they are good for, and what is said where they are good for nothing.

use super::{Desk, Pages, addresses, answer};
use crate::guard::forms;
use crate::subscribers::SubscribersError;
use crate::subscribers::link::Purpose;
use crate::subscribers::rows::{self, Holder, Subscriber};
use crate::web::Place;
use crate::web::page::Link;
use axum::body::Bytes;
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use std::sync::Arc;

/// A link as it was opened.
pub(super) struct Held {
    purpose: Purpose,
    pub(super) token: String,
}

impl Held {
    pub(super) fn new(purpose: Purpose, token: String) -> Self {
        Held { purpose, token }
    }
}

/// A form as it was sent.
pub(super) type Sent = (HeaderMap, Bytes);

/// The fields of a form.
pub(super) type Fields = [(String, String)];

type Answer = Result<Response, SubscribersError>;

impl Pages {
    /// Answers whoever opens a link.
    pub(super) async fn opened(
        self: &Arc<Self>,
        link: Held,
        shown: impl FnOnce(&mut Desk, &Subscriber, &Held) -> Answer + Send + 'static,
    ) -> Response {
        self.answer(move |desk| desk.behind(&link, shown)).await
    }

    /// Answers whoever presses a button of the page behind a link.
    pub(super) async fn sent(
        self: &Arc<Self>,
        link: Held,
        (headers, body): Sent,
        does: impl FnOnce(&mut Desk, &Subscriber, &Held, &Fields) -> Answer + Send + 'static,
    ) -> Response {
        self.answer(move |desk| desk.pressed(&link, (&headers, &body), does))
            .await
    }
}

impl Desk {
    /// What is behind a link, for its holder.
    fn behind(
        &mut self,
        link: &Held,
        shown: impl FnOnce(&mut Desk, &Subscriber, &Held) -> Answer,
    ) -> Answer {
        let held = (link.purpose, link.token.as_str());
        match rows::holder(&self.conn, &self.key, held, self.now)? {
            Holder::Known(own) => shown(self, &own, link),
            Holder::Ended => self.ended(),
            Holder::Unknown => self.unknown(),
        }
    }

    /// What a button behind a link does; nothing, where it was not sent by a form of ours.
    fn pressed(
        &mut self,
        link: &Held,
        (headers, body): (&HeaderMap, &[u8]),
        does: impl FnOnce(&mut Desk, &Subscriber, &Held, &Fields) -> Answer,
    ) -> Answer {
        self.behind(link, |desk, own, link| {
            let public = desk.workspace.service.public_url.as_ref();
            let about = about(link.purpose, &link.token);
            let sent = forms::fields(headers, body)
                .filter(|_| forms::is_from_here(headers, public))
                .filter(|fields| forms::is_ours(&desk.key, &about, fields, desk.now));
            match sent {
                Some(fields) => does(desk, own, link, &fields),
                None => desk.not_from_here(),
            }
        })
    }

    /// The code of a form behind a link.
    pub(super) fn code(&self, purpose: Purpose, token: &str) -> String {
        forms::code(&self.key, &about(purpose, token), self.now)
    }

    fn not_from_here(&self) -> Answer {
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

    fn ended(&self) -> Answer {
        let said = [
            "The time of this link is over. Put your address down again, and a mail with a \
            new one comes. If you are on the list, your next digest has a new one too.",
        ];
        let frame = self.frame("This link has ended");
        answer::words_with(StatusCode::GONE, &frame, &said, self.to_begin())
    }

    pub(super) fn unknown(&self) -> Answer {
        let said = [
            "This link leads nowhere. It may have been used already, since a link to confirm \
            an address works once, or it was cut short on its way.",
        ];
        let frame = self.frame("Nothing is here");
        answer::words_with(StatusCode::NOT_FOUND, &frame, &said, self.to_begin())
    }

    /// The way to a new link, while readers may put themselves on the list.
    fn to_begin(&self) -> Option<Link> {
        let to = addresses(self.workspace.service.public_url.as_ref()).to(&Place::Subscribe);
        let words = "Put your address down for the digest";
        self.workspace
            .service
            .subscribe
            .then(|| Link::new(words, to))
    }
}

/// What a form's code is bound to.
fn about(purpose: Purpose, token: &str) -> String {
    format!("{} {token}", purpose.name())
}
