//! The pages of subscribers: `/subscribe`, `/confirm/TOKEN`, `/choices/TOKEN`.
//!
//! A page behind a link does nothing before somebody presses a button on it, since filters and mail
//! programs open links on their own. Nothing that is typed in is shown again but as text of a page.

pub(crate) mod answer;
mod choices;
mod confirm;
mod held;
mod settings;
mod subscribe;
mod view;

pub use settings::Settings;

use super::SubscribersError;
use super::posting::{self, blocking};
use crate::deliveries::key::StoreKey;
use crate::guard::rate::{self, Counted};
use crate::service::deliver::Clock;
use crate::service::tables;
use crate::web::page::{Frame, Link, name_of};
use crate::web::{Addresses, Place};
use axum::Router;
use axum::response::Response;
use axum::routing::get;
use chrono::{DateTime, Utc};
use config::settings::Workspace;
use rusqlite::Connection;
use std::path::Path;
use std::sync::Arc;
use url::Url;

/// What the pages work on.
pub struct Pages {
    settings: Settings,
    clock: Clock,
    /// Held while mails go out, so that those who ask at the same time open one session.
    posting: tokio::sync::Mutex<()>,
}

impl Pages {
    /// The pages of the workspace in `dir`.
    pub fn new(dir: &Path, clock: Clock) -> Arc<Self> {
        Arc::new(Pages {
            settings: Settings::of(dir),
            clock,
            posting: tokio::sync::Mutex::default(),
        })
    }

    /// Sends what waits, at once and without keeping anybody waiting for it.
    fn post(self: &Arc<Self>, workspace: Arc<Workspace>) {
        let pages = Arc::clone(self);
        tokio::spawn(async move {
            let _turn = pages.posting.lock().await;
            if let Err(why) = posting::send(&workspace, (pages.clock)()).await {
                tracing::error!("a mail about a subscription waits: {why}");
            }
        });
    }

    /// Works on the tables for an answer, on a thread that may wait.
    async fn answer(
        self: &Arc<Self>,
        work: impl FnOnce(&mut Desk) -> Result<Response, SubscribersError> + Send + 'static,
    ) -> Response {
        let pages = Arc::clone(self);
        let done = blocking(move || {
            let now = (pages.clock)();
            let workspace = pages.settings.now()?;
            let mut desk = Desk {
                conn: tables::open(&workspace.root)?,
                key: StoreKey::open(&workspace.root)?,
                workspace,
                now,
            };
            work(&mut desk)
        });
        match done.await {
            Ok(answer) => answer,
            Err(why) => {
                tracing::error!("a subscriber's page cannot be shown: {why}");
                answer::unable()
            }
        }
    }
}

/// What one answer is made with.
struct Desk {
    conn: Connection,
    key: StoreKey,
    workspace: Arc<Workspace>,
    now: DateTime<Utc>,
}

impl Desk {
    fn frame(&self, title: &str) -> Frame {
        frame(&Whole::of(&self.workspace), title)
    }
}

/// What of the settings stands on every page.
#[derive(Debug, Clone)]
pub(crate) struct Whole {
    name: String,
    about: Option<String>,
    /// Who keeps the counts, without a mail address.
    keeper: Option<String>,
    /// The address under which people reach the service.
    public: Option<Url>,
}

impl Whole {
    /// As the settings have it.
    pub(crate) fn of(workspace: &Workspace) -> Self {
        Whole {
            name: workspace.name.clone(),
            about: workspace.about.clone(),
            keeper: workspace.keeper.as_deref().and_then(name_of),
            public: workspace.service.public_url.clone(),
        }
    }
}

/// How pages are linked below the path of the public address.
fn addresses(public: Option<&Url>) -> Addresses {
    let below = public.map_or("", |url| url.path().trim_end_matches('/'));
    Addresses::Service(below.to_owned())
}

/// The frame of a page that is nobody else's business.
pub(crate) fn frame(whole: &Whole, title: &str) -> Frame {
    let addresses = addresses(whole.public.as_ref());
    let home = addresses.to(&Place::Home);
    Frame {
        title: title.to_owned(),
        trail: vec![Link::new("All sites", home)],
        about: whole.about.clone(),
        keeper: whole.keeper.clone(),
        ..Frame::bare(&whole.name, &addresses)
    }
}

/// The pages, with bounds on how often one peer may ask.
pub fn router(pages: Arc<Pages>, counted: &Counted) -> Router {
    let wishes = Router::new()
        .route("/subscribe", get(subscribe::form).post(subscribe::send))
        .with_state(Arc::clone(&pages));
    let routes = Router::new()
        .route("/subscribe/asked", get(subscribe::asked))
        .route("/confirm/{token}", get(confirm::ask).post(confirm::act))
        .route("/choices/{token}", get(choices::show).post(choices::act))
        .with_state(pages);
    let wishes = rate::bounded_posts(wishes, rate::WISHES, counted);
    rate::bounded(routes.merge(wishes), rate::FORMS, counted)
}
