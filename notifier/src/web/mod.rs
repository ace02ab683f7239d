//! What people look at: pages, feeds and an interface for programs, all of them readable by
//! everybody and by nobody changed.
//!
//! A [`Snapshot`] of the workspace is read when the store changes, never for a request; what was
//! rendered from it stays on the [`Shelf`] until the next one. [`shown`] decides, once and for all
//! of them, what nobody may see.

mod address;
pub mod aliases;
mod answer;
mod api;
mod ask;
pub mod calendar;
mod feed;
pub mod folder;
mod handout;
pub(crate) mod kept_names;
mod lesson;
mod marks;
pub mod page;
mod plan;
mod plot;
mod practice;
mod render;
mod season;
mod set;
mod shelf;
mod short_names;
pub mod shown;
mod sites;
mod snapshot;
mod species;
pub(crate) mod stamp;
mod this_season;
pub(crate) mod through_year;
mod week;
mod year;

pub use address::{Addresses, Place, slug};
pub use answer::is_known;
pub use ask::{ApiAsk, Ask, Weight, YearFile};
pub use practice::Step;
pub use render::{Made, Refusal};
pub use snapshot::{ShownSite, Snapshot, SnapshotError};

use crate::service::deliver::Clock;
use crate::service::stop::Stop;
use axum::Router;
use axum::extract::{OriginalUri, State};
use axum::http::HeaderMap;
use axum::response::Response;
use axum::routing::get;
use chrono::{DateTime, Utc};
use shelf::Shelf;
use stamp::Stamp;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError, RwLock};
use std::time::Duration;

/// The pages of one workspace.
pub struct Web {
    dir: PathBuf,
    clock: Clock,
    shelf: RwLock<Arc<Shelf>>,
    /// How the files looked when they were last read or could not be read.
    looked: Mutex<Option<Stamp>>,
    /// Pages are rendered by so many threads at a time.
    rendering: Arc<tokio::sync::Semaphore>,
}

/// More at a time would only keep the rest of the service from its work.
const RENDERERS: usize = 2;

impl Web {
    /// The pages of the workspace in `dir`; nothing is read yet.
    pub fn of(dir: &Path, clock: Clock) -> Arc<Self> {
        Arc::new(Web {
            dir: dir.to_owned(),
            clock,
            shelf: RwLock::new(Arc::new(Shelf::new(None))),
            looked: Mutex::new(None),
            rendering: Arc::new(tokio::sync::Semaphore::new(RENDERERS)),
        })
    }

    /// Reads the workspace anew where its settings or its store changed; true where it did. What
    /// cannot be read leaves the pages as they were.
    pub fn refresh(&self) -> bool {
        let stamp = Stamp::of(&self.dir);
        let mut looked = self.looked.lock().unwrap_or_else(PoisonError::into_inner);
        if looked.as_ref() == Some(&stamp) {
            return false;
        }
        *looked = Some(stamp);
        match Snapshot::read(&self.dir) {
            Ok(snapshot) => {
                let shelf = Arc::new(Shelf::new(Some(snapshot)));
                // nobody waits at a start; later the pages before serve until these are laid out
                if self.shelf().snapshot.is_none() {
                    self.put_up(&shelf);
                }
                shelf.lay_out((self.clock)());
                self.put_up(&shelf);
                true
            }
            Err(why) => {
                tracing::warn!("the pages stay as they are: {why}");
                false
            }
        }
    }

    /// Reads the workspace, and looks for changes until the service stops.
    pub async fn keep_fresh(self: Arc<Self>, every: Duration, stop: Stop) {
        while !stop.is_set() {
            let web = Arc::clone(&self);
            // a panic in there is in the log already, and the pages stay as they were
            let _ = tokio::task::spawn_blocking(move || web.refresh()).await;
            tokio::select! {
                () = tokio::time::sleep(every) => {}
                () = stop.wait() => return,
            }
        }
    }

    fn put_up(&self, shelf: &Arc<Shelf>) {
        *self.shelf.write().unwrap_or_else(PoisonError::into_inner) = Arc::clone(shelf);
    }

    fn shelf(&self) -> Arc<Shelf> {
        Arc::clone(&self.shelf.read().unwrap_or_else(PoisonError::into_inner))
    }

    /// What is asked for, rendered at most once for all who ask at a time.
    async fn made(self: &Arc<Self>, ask: Ask) -> Result<Arc<Made>, Refusal> {
        let (shelf, now) = (self.shelf(), (self.clock)());
        if let Ask::Practice(_) = ask {
            return self.once(shelf, ask, now).await;
        }
        if let Some(made) = shelf.taken(&ask, now) {
            return Ok(made);
        }
        let rendering = Arc::clone(&self.rendering);
        let slot = shelf.slot(&ask, now)?;
        let (making, asked, kept) = (Arc::clone(&shelf), ask.clone(), Arc::clone(&slot));
        let made = slot
            .get_or_try_init(|| async move {
                let turn = rendering.acquire_owned().await;
                let work = tokio::task::spawn_blocking(move || {
                    // whoever asked may go, and the work goes on: its turn ends with it alone
                    let _turn = turn;
                    let made = making.render(&asked, now).map(Arc::new);
                    if let Ok(made) = &made {
                        // where somebody waits still, they put it there themselves
                        let _ = kept.set(Arc::clone(made));
                    }
                    made
                });
                work.await.map_err(|_| Refusal::broken("a page panicked"))?
            })
            .await;
        if made.is_err() {
            shelf.forget(&ask, now);
        }
        made.cloned()
    }
}

impl Web {
    /// What hardly two people ask for alike, and nobody wants kept.
    async fn once(
        self: &Arc<Self>,
        shelf: Arc<Shelf>,
        ask: Ask,
        now: DateTime<Utc>,
    ) -> Result<Arc<Made>, Refusal> {
        let turn = Arc::clone(&self.rendering).acquire_owned().await;
        let work = tokio::task::spawn_blocking(move || {
            let _turn = turn;
            shelf.render(&ask, now).map(Arc::new)
        });
        work.await.map_err(|_| Refusal::broken("a page panicked"))?
    }
}

/// All that there is for people to look at: whatever no other page of the service answers.
pub fn router(web: Arc<Web>) -> Router {
    Router::new().fallback_service(get(serve).with_state(web))
}

/// Every address has the same answer to the same question, so one function serves them all.
async fn serve(
    State(web): State<Arc<Web>>,
    OriginalUri(uri): OriginalUri,
    headers: HeaderMap,
) -> Response {
    let ask = Ask::of(uri.path(), uri.query().unwrap_or_default());
    let made = match ask {
        Ok(ask) => web.made(ask).await,
        Err(refusal) => Err(refusal),
    };
    match made {
        Ok(made) => answer::of(&made, &headers),
        Err(refusal) => answer::refusal(&web.shelf(), uri.path(), &refusal),
    }
}
