//! `/choices/TOKEN`: what a subscriber gets, and all that they may do about it.

use super::held::{Fields, Held, Sent};
use super::{Desk, Pages, answer, view};
use crate::deliveries::readers::{OWN_WISH, Standing};
use crate::guard::forms;
use crate::subscribers::link::Purpose;
use crate::subscribers::rows::{self, Subscriber};
use crate::subscribers::{Choices, Offer, SubscribersError, held};
use axum::body::Body;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::Response;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

#[derive(Serialize)]
struct View<'a> {
    code: String,
    address: String,
    fields: view::Fields,
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

const NOT_SURE: &str = "Tick the box beside the button too, if all of it is to be forgotten.";

/// The page.
pub(super) async fn show(
    State(pages): State<Arc<Pages>>,
    Path(token): Path<String>,
    Query(done): Query<Done>,
) -> Response {
    let link = Held::new(Purpose::Choices, token);
    let said = done.words();
    pages
        .opened(link, move |desk, own, link| {
            desk.choices(own, &link.token, (StatusCode::OK, said))
        })
        .await
}

/// A button of it.
pub(super) async fn act(
    State(pages): State<Arc<Pages>>,
    Path(token): Path<String>,
    sent: Sent,
) -> Response {
    let link = Held::new(Purpose::Choices, token);
    pages
        .sent(link, sent, |desk, own, link, fields| {
            desk.wish(own, &link.token, fields)
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
            code: self.code(Purpose::Choices, token),
            address: own.masked(),
            fields: view::Fields::of(&Offer::of(&self.workspace)?, &own.choices),
            said,
            wrong: code != StatusCode::OK,
            standing: match own.waits() {
                true => "waits",
                false => own.standing.name(),
            },
            why: own.away.as_ref().map(|(_, why)| match why.as_str() {
                OWN_WISH => "at your own wish",
                other => other,
            }),
        };
        answer::page(code, "choices.html", &self.frame("What you get"), &view)
    }

    fn wish(
        &mut self,
        own: &Subscriber,
        token: &str,
        fields: &Fields,
    ) -> Result<Response, SubscribersError> {
        let (conn, reader, now) = (&self.conn, own.reader, self.now);
        match forms::field(fields, "wish") {
            Some("keep") => return self.keep(own, token, fields),
            Some("data") => return self.data(own),
            Some("forget") if forms::field(fields, "sure") == Some("yes") => {
                return self.forget(own);
            }
            Some("forget") => return self.wrong(own, token, NOT_SURE),
            Some("pause") => rows::put_away(conn, reader, Standing::Paused, now)?,
            Some("leave") => rows::put_away(conn, reader, Standing::Left, now)?,
            Some("back") => rows::bring_back(conn, reader)?,
            _ => return self.wrong(own, token, "Nothing was asked for."),
        }
        Ok(answer::see(match forms::field(fields, "wish") {
            Some("pause") => "?said=paused",
            Some("leave") => "?said=left",
            _ => "?said=back",
        }))
    }

    fn keep(
        &self,
        own: &Subscriber,
        token: &str,
        fields: &Fields,
    ) -> Result<Response, SubscribersError> {
        match Choices::read(fields, &Offer::of(&self.workspace)?) {
            Ok(choices) => {
                rows::change(&self.conn, own.reader, &choices)?;
                Ok(answer::see("?said=kept"))
            }
            Err(why) => self.wrong(own, token, &why.to_string()),
        }
    }

    fn wrong(
        &self,
        own: &Subscriber,
        token: &str,
        why: &str,
    ) -> Result<Response, SubscribersError> {
        self.choices(own, token, (StatusCode::UNPROCESSABLE_ENTITY, Some(why)))
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
