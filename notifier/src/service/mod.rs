//! `wingtide serve`: what is done when, by one process that is meant to run for years.
//!
//! The loop in here looks which run is due (`schedule`, `runs`), does it (`pipeline`), sends what
//! waits (`sending`) and tells the keeper (`keeper`). No fault of a step ends it. The clock, the
//! ways by which things go out and the length of a second are given to it.

pub mod deliver;
pub mod desk;
mod health;
pub mod keeper;
pub mod lock;
mod metrics;
pub mod outgoing;
mod pipeline;
pub mod retry;
pub mod runs;
pub mod schedule;
mod sending;
mod status;
mod steps;
pub mod stop;
pub mod tables;
mod web;

use crate::deliveries::key::StoreKey;
use crate::guard::patience::{Patient, Peer};
use crate::guard::rate::{self, Counted};
use crate::subscribers::pages::Whole;
use crate::web::Web;
use chrono::{DateTime, NaiveDate, Utc};
use config::settings::Workspace;
use deliver::{Clock, Deliver};
use desk::entry::Entry;
use health::Pulse;
use metrics::Metrics;
use rusqlite::Connection;
use schedule::Timetable;
use std::io;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use stop::Stop;
use tables::TablesError;
use tokio::net::TcpListener;
use url::Url;

/// What the service is given from outside.
#[derive(Clone)]
pub struct Hands {
    /// What time it is.
    pub clock: Clock,
    /// The ways by which digests and notes go out.
    pub deliver: Arc<dyn Deliver>,
    /// How long it waits where it means a second.
    pub second: Duration,
}

/// The service of one workspace.
pub struct Service {
    /// The workspace's folder, as it was named.
    dir: PathBuf,
    root: PathBuf,
    name: String,
    /// What stands on every page of it.
    whole: Whole,
    timetable: Timetable,
    page: String,
    public_pages: bool,
    /// Requests for pages of everybody that one peer may make in a minute.
    pages_per_minute: u32,
    /// The address under which people reach it.
    public: Option<Url>,
    /// Who may see the keeper's pages; given away once, to those pages.
    entry: Mutex<Option<(Entry, StoreKey)>>,
    counted: Counted,
    tables: Arc<Mutex<Connection>>,
    clock: Clock,
    deliver: Arc<dyn Deliver>,
    second: Duration,
    stop: Stop,
    pulse: Pulse,
    metrics: Metrics,
    /// Held by whoever sends.
    sending: tokio::sync::Mutex<()>,
}

/// The clock is looked at so often at least, since it may be set, and machines sleep.
const LOOK_S: u32 = 30;
/// Between two looks whether the pages are behind the store.
const LOOK_AT_STORE_S: u32 = 2;
/// A request comes whole within this time, or its connection ends.
const REQUEST: Duration = Duration::from_secs(20);
/// How long a stop waits for the step under way.
const GRACE_S: u32 = 20;
/// Between two tries to reach the keeper.
const KEEPER_S: u32 = 3600;

impl Service {
    /// The service of a workspace whose lock is held; nothing of the store is read yet.
    ///
    /// # Errors
    /// [`TablesError`] where its tables cannot be used.
    pub fn open(
        dir: &Path,
        workspace: &Workspace,
        address: SocketAddr,
        hands: Hands,
        stop: Stop,
    ) -> Result<Arc<Self>, TablesError> {
        let settings = &workspace.service;
        let entry = Entry::open(&workspace.root, settings.keeper_token.as_ref());
        let entry = entry.map_err(TablesError::Told)?;
        let key = StoreKey::open(&workspace.root).map_err(|e| TablesError::Told(e.to_string()))?;
        Ok(Arc::new(Service {
            dir: dir.to_owned(),
            root: workspace.root.clone(),
            name: workspace.name.clone(),
            whole: Whole::of(workspace),
            timetable: Timetable::of(workspace),
            page: format!("http://{address}/keeper"),
            public_pages: settings.pages,
            pages_per_minute: settings.pages_per_minute,
            public: settings.public_url.clone(),
            entry: Mutex::new(Some((entry, key))),
            counted: Counted {
                proxy_header: settings.proxy_header.clone(),
            },
            tables: Arc::new(Mutex::new(tables::open(&workspace.root)?)),
            clock: hands.clock,
            deliver: hands.deliver,
            second: hands.second,
            stop,
            pulse: Pulse::default(),
            metrics: Metrics::default(),
            sending: tokio::sync::Mutex::default(),
        }))
    }

    /// Serves until the stop is set. `more` are pages beside the service's own.
    ///
    /// # Errors
    /// What the system says where the status page cannot be served.
    pub async fn serve(
        self: Arc<Self>,
        listener: TcpListener,
        more: axum::Router,
    ) -> io::Result<()> {
        let (pages, desk) = (self.plain_pages().merge(more), self.desk());
        let stop = self.stop.clone();
        let listener = Patient::new(listener, REQUEST);
        let pages = web::bounded(pages, desk).into_make_service_with_connect_info::<Peer>();
        let web =
            axum::serve(listener, pages).with_graceful_shutdown(async move { stop.wait().await });
        let web = tokio::spawn(web.into_future());
        let sender = tokio::spawn(sending::rounds(Arc::clone(&self)));
        self.rounds().await;
        let patience = self.second * GRACE_S;
        // a page that somebody keeps open holds up nobody
        let _ = tokio::time::timeout(patience, sender).await;
        match tokio::time::timeout(patience, web).await {
            Ok(Ok(ended)) => ended,
            _ => Ok(()),
        }
    }

    /// What everybody may ask for, no faster than the settings let one peer.
    fn plain_pages(self: &Arc<Self>) -> axum::Router {
        let own = web::router(Arc::clone(self));
        let own = rate::bounded(own, rate::WATCH, &self.counted);
        if !self.public_pages {
            return own;
        }
        let public = Web::of(&self.dir, Arc::clone(&self.clock));
        let fresh = Arc::clone(&public);
        // the schedule waits for no page
        tokio::spawn(fresh.keep_fresh(self.second * LOOK_AT_STORE_S, self.stop.clone()));
        let rate = rate::pages(self.pages_per_minute);
        own.merge(rate::bounded(
            crate::web::router(public),
            rate,
            &self.counted,
        ))
    }

    /// The keeper's pages; none at a second call, which the entry was given away at.
    fn desk(self: &Arc<Self>) -> axum::Router {
        match held(&self.entry).take() {
            Some(entry) => desk::router(Arc::clone(self), entry, &self.counted),
            None => axum::Router::new(),
        }
    }

    async fn rounds(&self) {
        self.take_up().await;
        while !self.stop.is_set() {
            self.pulse.beat();
            self.metrics.upkeep();
            let (timetable, now) = (self.timetable.clone(), self.now());
            let next = self.tables(move |conn| runs::begin_next(conn, &timetable, now));
            match self.note(next.await).flatten() {
                Some((id, due)) => {
                    if pipeline::run(self, id, due).await.is_err() {
                        break;
                    }
                }
                None => {
                    self.tell_keeper().await;
                    tokio::select! {
                        () = self.sleep(self.until_next().await) => {}
                        () = self.stop.wait() => {}
                    }
                }
            }
        }
        tracing::info!("the service stops");
    }

    /// What a service that died left behind.
    async fn take_up(&self) {
        let now = self.now();
        let left = self.tables(move |conn| {
            let left = runs::interrupt_those_under_way(conn, now)?;
            if left > 0 {
                let words = "The service ended in the middle of a run without being asked to, \
                    and has begun it again";
                keeper::keep(conn, words, now)?;
            }
            Ok(())
        });
        self.note(left.await);
    }

    /// To the next time of any job, but no longer than the clock may be left alone.
    async fn until_next(&self) -> Duration {
        let longest = Duration::from_secs(u64::from(LOOK_S));
        let now = self.now();
        let nexts = schedule::Job::ALL.map(|job| self.timetable.next(job, now));
        let next = nexts.into_iter().flatten().min();
        let wait = next.and_then(|at| (at - now).to_std().ok());
        wait.map_or(longest, |wait| wait.min(longest))
    }

    async fn tell_keeper(&self) {
        if !self.pulse.keeper_may_be_tried() {
            return;
        }
        let now = self.now();
        let (name, page, zone) = (self.name.clone(), self.page.clone(), self.timetable.zone);
        let due = self.tables(move |conn| {
            let about = keeper::About {
                workspace: &name,
                zone,
                page: &page,
            };
            keeper::due(conn, about, now)
        });
        let Some(note) = self.note(due.await).flatten() else {
            return;
        };
        let told = match self.settings().await {
            Err(why) => Err(why),
            Ok(workspace) => {
                let note = (note.subject.as_str(), note.text.as_str());
                self.deliver.tell_keeper(&workspace, note, now).await
            }
        };
        match told {
            Ok(()) => {
                let told = self.tables(move |conn| keeper::told(conn, &note, now));
                self.note(told.await);
            }
            Err(why) => {
                tracing::warn!("the keeper is not told: {why}");
                self.pulse.try_keeper_after(self.second * KEEPER_S);
            }
        }
    }

    /// The settings as they stand now.
    async fn settings(&self) -> Result<Workspace, String> {
        let dir = self.dir.clone();
        let loaded = tokio::task::spawn_blocking(move || config::load(&dir)).await;
        let loaded = loaded.map_err(|_| "wingtide.toml could not be read".to_owned())?;
        loaded.map_err(|e| e.to_string())
    }

    /// Works on the tables on a thread that may wait.
    async fn tables<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut Connection) -> Result<T, TablesError> + Send + 'static,
    ) -> Result<T, TablesError> {
        let tables = Arc::clone(&self.tables);
        let work = tokio::task::spawn_blocking(move || work(&mut held(&tables)));
        work.await.unwrap_or(Err(TablesError::BrokenOff))
    }

    /// Logs what went wrong where nothing else can be done about it.
    fn note<T>(&self, result: Result<T, TablesError>) -> Option<T> {
        result
            .inspect_err(|error| tracing::error!("not recorded: {error}"))
            .ok()
    }

    fn now(&self) -> DateTime<Utc> {
        (self.clock)()
    }

    fn local_date(&self, at: DateTime<Utc>) -> NaiveDate {
        at.with_timezone(&self.timetable.zone).date_naive()
    }

    /// Waits so many of its seconds.
    async fn sleep(&self, wait: Duration) {
        tokio::time::sleep(self.second.mul_f64(wait.as_secs_f64())).await;
    }

    /// Waits until the stop is set, and then as long as the step under way may take.
    async fn stopped_for_long(&self) {
        self.stop.wait().await;
        tokio::time::sleep(self.second * GRACE_S).await;
    }
}

/// A poisoned lock means that work on it panicked, which its own task tells.
fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
