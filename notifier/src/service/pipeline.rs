//! A run from its first step to its last. A step that fails is tried again, then told to the
//! keeper and, where readers must know, in the digest; the steps behind it go on with what there is.

use super::Service;
use super::retry::{self, Fault};
use super::runs::{self, Outcome};
use super::schedule::{Due, Job};
use super::steps::{self, Step, Tried};
use crate::cli::digest::{Composed, write_files};
use crate::cli::session::Session;
use crate::compose;
use crate::deliveries::Outgoing;
use crate::digest::{Digest, Notice};
use crate::subscribers::editions::Editions;
use crate::words;
use chrono::{DateTime, Utc};
use ingest::LoadReport;
use ingest::fetch;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// The service was told to stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stopped;

/// A file of the digest for those who look into the workspace.
const FOLDER: &str = "digest";

/// A run that goes on.
struct Running<'a> {
    service: &'a Service,
    id: i64,
    due: Due,
    now: DateTime<Utc>,
    /// What readers must know.
    notices: Vec<Notice>,
    /// What went wrong in this run.
    troubles: Vec<String>,
    /// What else the keeper is told.
    remarks: Vec<String>,
    /// What was done, in words.
    done: Vec<String>,
}

/// Runs all steps of a job, and records what came of it.
pub(super) async fn run(service: &Service, id: i64, due: Due) -> Result<(), Stopped> {
    let mut running = Running {
        service,
        id,
        due,
        now: service.now(),
        notices: Vec::new(),
        troubles: Vec::new(),
        remarks: Vec::new(),
        done: Vec::new(),
    };
    let came = match running.steps().await {
        Ok(came) => came,
        Err(Stopped) => {
            let words = "The service was stopped in the middle of it.";
            running.end(Outcome::Interrupted, words.to_owned()).await;
            return Err(Stopped);
        }
    };
    let outcome = match (&came, running.troubles.is_empty()) {
        (Err(_), _) => Outcome::Failed,
        (Ok(()), false) => Outcome::Troubled,
        (Ok(()), true) => Outcome::Done,
    };
    let sentence = match came {
        Err(why) => why,
        Ok(()) if running.troubles.is_empty() => running.done.join(" "),
        Ok(()) => running.troubles.join(" "),
    };
    running.end(outcome, sentence).await;
    Ok(())
}

/// What a run was for was not done, for this reason.
type Came = Result<(), String>;

impl Running<'_> {
    async fn steps(&mut self) -> Result<Came, Stopped> {
        self.fetch().await?;
        let loaded = self.load().await?;
        self.fit(&loaded).await?;
        match self.due.job {
            Job::Load => Ok(loaded.map(drop)),
            Job::Digest => self.digest().await,
        }
    }

    async fn fetch(&mut self) -> Result<(), Stopped> {
        let now = self.now;
        let tried = self
            .step(Step::Fetch, move |dir| steps::fetch(dir, now))
            .await?;
        for report in tried.value.into_iter().flatten() {
            if let fetch::Outcome::Failed { copy_from, .. } = &report.outcome {
                self.notices.push(Notice::Unreachable {
                    source: Some(report.source.clone()),
                    copy_from: self.service.local_date(*copy_from),
                });
            }
        }
        Ok(())
    }

    async fn load(&mut self) -> Result<Result<LoadReport, String>, Stopped> {
        let now = self.now;
        let mut tried = self
            .step(Step::Load, move |dir| steps::load(dir, now))
            .await?;
        let Some(report) = tried.value.take() else {
            let last = self.blocking(|dir| steps::last_loaded(&dir)).await?;
            let last = last.flatten().map(|at| self.service.local_date(at));
            self.notices.push(Notice::NotLoaded { last });
            let why = tried.fault.map(|f| f.sentence);
            return Ok(Err(why.unwrap_or_else(|| FAULT.to_owned())));
        };
        self.done.push(loaded(&report));
        self.remarks.extend(refused(&report));
        Ok(Ok(report))
    }

    async fn fit(&mut self, loaded: &Result<LoadReport, String>) -> Result<(), Stopped> {
        let changed = loaded.as_ref().is_ok_and(|report| !report.unchanged);
        let tried = self
            .step(Step::Fit, move |dir| steps::fit(dir, changed))
            .await?;
        for site in tried.value.into_iter().flatten().flatten() {
            for (species, why) in &site.failures {
                let words = format!("The fit of {species} at {} failed: {why}", site.site);
                self.remarks.push(words);
            }
        }
        Ok(())
    }

    async fn digest(&mut self) -> Result<Came, Stopped> {
        let date = self.service.local_date(self.now);
        let tried = self
            .step(Step::Compose, move |dir| steps::compose(dir, date))
            .await?;
        let Some((session, composed)) = tried.value else {
            return Ok(Err(said(tried.fault)));
        };
        let told = self.told_to_readers(&composed);
        let queued = self.queue(session, composed, told).await?;
        if let Err(why) = queued {
            return Ok(Err(why));
        }
        self.send().await
    }

    /// The digest as it goes out; the keeper is told what it says is wrong.
    fn told_to_readers(&mut self, composed: &Composed) -> Digest {
        let digest = Digest {
            notices: self.notices.clone(),
            ..composed.digest.clone()
        };
        for site in &digest.sites {
            let notices = site.notices();
            let told = notices.iter().filter(|n| n.is_for_the_keeper());
            let told = told.map(|n| format!("{}: {}", site.guidance.site_name, n.words()));
            self.remarks.extend(told);
        }
        digest
    }

    /// Queues the digest under the date for which it was due, so that a run that is begun again
    /// queues nothing twice.
    async fn queue(
        &mut self,
        session: Session,
        composed: Composed,
        digest: Digest,
    ) -> Result<Came, Stopped> {
        let on = self.service.local_date(self.due.scheduled_for);
        let key = compose::key(&session.workspace, on);
        let (deliver, now) = (Arc::clone(&self.service.deliver), self.now);
        let shared = Arc::new(Mutex::new((session, composed, digest)));
        let queue = move |dir: &Path| -> Tried<(usize, Option<String>)> {
            let mut all = super::held(&shared);
            let (session, composed, digest) = &mut *all;
            let queued = || -> Result<usize, Fault> {
                let workspace = &session.workspace;
                let told = (digest.date, digest.notices.as_slice());
                let outgoing = Outgoing {
                    digest,
                    editions: &Editions::compose(dir, workspace, told)?,
                    key: &key,
                };
                let mut conn = super::tables::open(&workspace.root)?;
                deliver.queue(&mut conn, workspace, outgoing, now)
            };
            let queued = queued().map(|new| {
                // it goes out whatever becomes of the record and the files
                let kept = composed.keep(session).map_err(Fault::from);
                let folder = session.workspace.root.join(FOLDER);
                let files = write_files(&session.workspace, digest, &folder);
                let files = files.map(drop).map_err(Fault::from);
                (new, kept.and(files).err().map(|f| f.sentence))
            });
            queued.into()
        };
        let tried = self.step(Step::Queue, queue).await?;
        let Some((new, beside)) = tried.value else {
            return Ok(Err(said(tried.fault)));
        };
        self.troubles.extend(beside);
        self.done.push(format!(
            "{} queued.",
            words::count_of(new, "delivery", "deliveries")
        ));
        Ok(Ok(()))
    }

    async fn send(&mut self) -> Result<Came, Stopped> {
        self.reach(Step::Send).await;
        let sent = tokio::select! {
            sent = self.service.send() => sent,
            () = self.service.stopped_for_long() => return Err(Stopped),
        };
        match sent {
            Err(fault) => self.troubles.push(fault.sentence),
            Ok(sent) => {
                self.done.push(format!("{} sent.", sent.sent));
                self.troubles.extend(super::sending::troubles(&sent));
            }
        }
        // what was queued goes out by itself later on
        Ok(Ok(()))
    }

    /// Tries a step until it is done, or another try is of no use.
    async fn step<T: Send + 'static>(
        &mut self,
        step: Step,
        work: impl Fn(&Path) -> Tried<T> + Clone + Send + 'static,
    ) -> Result<Tried<T>, Stopped> {
        self.reach(step).await;
        let mut tries = 0;
        let tried = loop {
            tries += 1;
            let work = work.clone();
            let tried = self.blocking(move |dir| work(&dir)).await?;
            let tried = tried.unwrap_or_else(|| Err(Fault::lasting(FAULT)).into());
            let Some(fault) = &tried.fault else {
                break tried;
            };
            let Some(wait) = retry::wait(fault.kind, tries) else {
                break tried;
            };
            tracing::warn!(
                step = step.name(),
                tries,
                wait_s = wait.as_secs(),
                "{}; trying again",
                fault.sentence
            );
            self.wait(wait).await?;
        };
        if let Some(fault) = &tried.fault {
            tracing::error!(step = step.name(), tries, "{}", fault.sentence);
            self.troubles.push(words::stop(&fault.sentence));
        }
        Ok(tried)
    }

    async fn wait(&self, wait: Duration) -> Result<(), Stopped> {
        tokio::select! {
            () = self.service.sleep(wait) => Ok(()),
            () = self.service.stop.wait() => Err(Stopped),
        }
    }

    /// Does work that blocks on a thread of its own; None where it panicked. A stop waits for it,
    /// but not for ever.
    async fn blocking<T: Send + 'static>(
        &self,
        work: impl FnOnce(PathBuf) -> T + Send + 'static,
    ) -> Result<Option<T>, Stopped> {
        if self.service.stop.is_set() {
            return Err(Stopped);
        }
        let dir = self.service.dir.clone();
        let work = tokio::task::spawn_blocking(move || work(dir));
        tokio::select! {
            done = work => Ok(done.ok()),
            () = self.service.stopped_for_long() => Err(Stopped),
        }
    }

    async fn reach(&self, step: Step) {
        tracing::info!(job = self.due.job.name(), step = step.name(), "begun");
        self.service.pulse.reach(step);
        let id = self.id;
        let written = self
            .service
            .tables(move |conn| runs::reach(conn, id, step.name()));
        self.service.note(written.await);
    }

    async fn end(&mut self, outcome: Outcome, sentence: String) {
        let (id, now) = (self.id, self.service.now());
        let job = self.due.job;
        tracing::info!(job = job.name(), outcome = outcome.name(), "{sentence}");
        self.service.pulse.rest();
        self.service.metrics.ended(job, outcome, now - self.now);
        let sentence = words::plain_spaces(&sentence);
        let mut told = std::mem::take(&mut self.troubles);
        if outcome == Outcome::Failed {
            told.retain(|t| *t != words::stop(&sentence));
            told.push(format!(
                "The {} of {} was not done. {sentence}",
                job.name(),
                self.when()
            ));
        }
        told.append(&mut self.remarks);
        let written = self.service.tables(move |conn| {
            runs::end(conn, id, outcome, &sentence, now)?;
            let kept = told.iter().map(|t| super::keeper::keep(conn, t, now));
            kept.collect::<Result<(), _>>()
        });
        self.service.note(written.await);
    }

    fn when(&self) -> String {
        crate::words::moment(self.due.scheduled_for, self.service.timetable.zone)
    }
}

/// A step panicked.
const FAULT: &str = "it met a fault of the program, of which its log tells more";

fn said(fault: Option<Fault>) -> String {
    fault.map_or_else(|| FAULT.to_owned(), |f| f.sentence)
}

fn loaded(report: &LoadReport) -> String {
    let new = report.sources.iter().filter(|s| !s.unchanged).count();
    match (report.unchanged, new) {
        (true, _) | (_, 0) => "Nothing new to load.".to_owned(),
        (false, new) => format!("{} loaded.", words::count_of(new, "source", "sources")),
    }
}

/// Rows of changed sources that were not taken.
fn refused(report: &LoadReport) -> Option<String> {
    let changed = report.sources.iter().filter(|s| !s.unchanged);
    let refused: Vec<String> = changed
        .filter(|s| !s.refused.is_empty())
        .map(|s| {
            let rows: u64 = s.rows - s.accepted;
            format!(
                "{} of {}",
                words::count_of(rows as usize, "row", "rows"),
                s.id
            )
        })
        .collect();
    let words = words::list(&refused);
    let page = "report/load.html tells why";
    (!refused.is_empty()).then(|| format!("Not taken at the last load: {words}; {page}"))
}
