//! `/choices/TOKEN`: what a subscriber gets, and all that they may do about it.

use super::view::Fields;
use super::{Desk, Pages, answer};
use crate::deliveries::readers::Standing;
use crate::guard::forms;
use crate::subscribers::link::Purpose;
use crate::subscribers::rows::{self, Holder, Subscriber};
use crate::subscribers::{Choices, Offer, SubscribersError, held};
use axum::body::{Body, Bytes};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::Response;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

#[derive(Serialize)]
struct View<'a> {
    code: String,
    address: String,
    fields: Fields,
    /// What was just done, or was wrong.
    said: Option<&'a str>,
    wrong: bool,
    standing: &'static str,
    why: Option<&'a str>,
}

/// What was just done; anything else is passed over.
#[derive(Deserialize)]
pub(super) struct Done {
    said: Option<String>,
}

impl Done {
    fn words(&self) -> Option<&'static str> {
        match self.said.as_deref()? {
            "kept" => Some("Your choices are kept, and hold from the next digest on."),
            "paused" => Some("No more digests come until you take them up again, on this page."),
            "back" => Some("The next digest comes to you again."),
            "left" => Some("You are off the list: no more digests go to your address."),
            _ => None,
        }
    }
}

/// The page.
pub(super) async fn show(
    State(pages): State<Arc<Pages>>,
    Path(token): Path<String>,
    Query(done): Query<Done>,
) -> Response {
    pages
        .answer(move |desk| {
            let held = (Purpose::Choices, token.as_str());
            match rows::holder(&desk.conn, &desk.key, held, desk.now)? {
                Holder::Known(own) => desk.choices(&own, &token, (StatusCode::OK, done.words())),
                Holder::Ended => desk.ended(),
                Holder::Unknown => desk.unknown(),
            }
        })
        .await
}

/// A button of it.
pub(super) async fn act(
    State(pages): State<Arc<Pages>>,
    Path(token): Path<String>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    pages
        .answer(move |desk| {
            let held = (Purpose::Choices, token.as_str());
            let own = match rows::holder(&desk.conn, &desk.key, held, desk.now)? {
                Holder::Known(own) => own,
                Holder::Ended => return desk.ended(),
                Holder::Unknown => return desk.unknown(),
            };
            match desk.posted("choices", &token, &headers, &body) {
                Some(fields) => desk.wish(&own, &token, &fields),
                None => desk.not_from_here(),
            }
        })
        .await
}

impl Desk {
    fn choices(
        &self,
        own: &Subscriber,
        token: &str,
        (code, said): (StatusCode, Option<&str>),
    ) -> Result<Response, SubscribersError> {
        let view = View {
            code: forms::code(&self.key, &format!("choices {token}"), self.now),
            address: own.masked(),
            fields: Fields::of(&Offer::of(&self.workspace), &own.choices),
            said,
            wrong: code != StatusCode::OK,
            standing: match own.waits() {
                true => "waits",
                false => own.standing.name(),
            },
            why: own.away.as_ref().map(|(_, why)| why.as_str()),
        };
        answer::page(code, "choices.html", &self.frame("What you get"), &view)
    }

    fn wish(
        &mut self,
        own: &Subscriber,
        token: &str,
        fields: &[(String, String)],
    ) -> Result<Response, SubscribersError> {
        let (conn, reader, now) = (&self.conn, own.reader, self.now);
        match forms::field(fields, "wish") {
            Some("keep") => match Choices::read(fields, &Offer::of(&self.workspace)) {
                Ok(choices) => {
                    rows::change(conn, reader, &choices)?;
                    Ok(answer::see("?said=kept"))
                }
                Err(why) => {
                    let why = why.to_string();
                    let wrong = (StatusCode::UNPROCESSABLE_ENTITY, Some(why.as_str()));
                    self.choices(own, token, wrong)
                }
            },
            Some("pause") => {
                rows::put_away(conn, reader, Standing::Paused, now)?;
                Ok(answer::see("?said=paused"))
            }
            Some("back") => {
                rows::bring_back(conn, reader)?;
                Ok(answer::see("?said=back"))
            }
            Some("leave") => {
                rows::put_away(conn, reader, Standing::Left, now)?;
                Ok(answer::see("?said=left"))
            }
            Some("data") => self.data(own),
            Some("forget") if forms::field(fields, "sure") == Some("yes") => self.forget(own),
            Some("forget") => {
                let wrong = "Tick the box beside the button too, if all of it is to be forgotten.";
                let wrong = (StatusCode::UNPROCESSABLE_ENTITY, Some(wrong));
                self.choices(own, token, wrong)
            }
            _ => {
                let wrong = (
                    StatusCode::UNPROCESSABLE_ENTITY,
                    Some("Nothing was asked for."),
                );
                self.choices(own, token, wrong)
            }
        }
    }

    /// All that is held of them, as a file.
    fn data(&self, own: &Subscriber) -> Result<Response, SubscribersError> {
        let held = held::held(&self.conn, own)?;
        let mut answer = Response::new(Body::from(format!("{held:#}\n")));
        let fields = [
            (header::CONTENT_TYPE, "application/json"),
            (header::CACHE_CONTROL, "no-store"),
            (
                header::CONTENT_DISPOSITION,
                "attachment; filename=\"what-is-held-of-you.json\"",
            ),
        ];
        for (name, value) in fields {
            answer
                .headers_mut()
                .insert(name, HeaderValue::from_static(value));
        }
        Ok(answer)
    }

    fn forget(&mut self, own: &Subscriber) -> Result<Response, SubscribersError> {
        let mut listed = self.workspace.recipients.iter();
        let in_settings = listed.any(|r| r.mail.to_lowercase() == own.mail);
        rows::erase(&mut self.conn, own, in_settings, self.now)?;
        let said: &[&str] = match in_settings {
            false => &[
                "All that was held of you is forgotten, and so is your address. Copies of \
                the store that were put away before are kept as long as their keeper keeps them.",
            ],
            true => &[
                "All that was held of you is forgotten but your address, which whoever keeps \
                the counts wrote into the settings. No digest goes to it. Ask them to take it out.",
            ],
        };
        answer::words(StatusCode::OK, &self.frame("You are forgotten"), said)
    }
}
