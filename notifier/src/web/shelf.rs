//! What was rendered from one snapshot, kept until the next.

use super::Addresses;
use super::ask::{Ask, Weight};
use super::render::{Made, Refusal, render};
use super::snapshot::Snapshot;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::OnceCell;

/// Pages kept at most: all of a large reserve, a year of weeks among them. A page is a tenth of a
/// megabyte or two at most, a sheet of a year as a picture a quarter of one, so that they take some
/// tens of them.
const MOST: usize = 400;

/// A page that is rendered once, while all others who ask for it wait.
type Slot = Arc<OnceCell<Arc<Made>>>;

/// Pages of a snapshot. What a page says also hangs on the date, which is part of its key.
pub(super) struct Shelf {
    pub(super) snapshot: Option<Snapshot>,
    slots: Mutex<HashMap<(Ask, NaiveDate), Slot>>,
}

impl Shelf {
    pub(super) fn new(snapshot: Option<Snapshot>) -> Self {
        Shelf {
            snapshot,
            slots: Mutex::default(),
        }
    }

    fn snapshot(&self) -> Result<&Snapshot, Refusal> {
        let none = "the workspace could not be read";
        self.snapshot.as_ref().ok_or_else(|| Refusal::broken(none))
    }

    /// Renders what most will ask for before anybody does.
    pub(super) fn lay_out(&self, now: DateTime<Utc>) {
        let Ok(snapshot) = self.snapshot() else {
            return;
        };
        let weeks = snapshot.sites.iter();
        let weeks = weeks.map(|s| Ask::Week(s.site.id.clone(), None));
        let letters = [Weight::Regular, Weight::Bold].map(Ask::Letters);
        let for_all = [Ask::Home, Ask::Style].into_iter().chain(letters);
        for ask in for_all.chain(weeks) {
            let made = self.render(&ask, now);
            if let (Ok(slot), Ok(made)) = (self.slot(&ask, now), made) {
                // whoever asked for it first may have it there already
                let _ = slot.set(Arc::new(made));
            }
        }
    }

    /// A page that is there already.
    pub(super) fn taken(&self, ask: &Ask, now: DateTime<Utc>) -> Option<Arc<Made>> {
        let key = (ask.clone(), self.date(ask, now).ok()?);
        let slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        slots.get(&key)?.get().cloned()
    }

    /// The place of a page. Nothing is kept for a site that is not there.
    pub(super) fn slot(&self, ask: &Ask, now: DateTime<Utc>) -> Result<Slot, Refusal> {
        let key = (ask.clone(), self.date(ask, now)?);
        let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        if slots.len() >= MOST && !slots.contains_key(&key) {
            // pages of former days first; whoever asks for very many does not drive out those that
            // most ask for
            slots.retain(|(_, date), _| *date >= key.1);
            if slots.len() >= MOST {
                slots.retain(|(ask, _), _| ask.is_chief());
            }
        }
        Ok(Arc::clone(slots.entry(key).or_default()))
    }

    /// Lets go of the place of a page that there is not.
    pub(super) fn forget(&self, ask: &Ask, now: DateTime<Utc>) {
        if let Ok(date) = self.date(ask, now) {
            let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
            slots.remove(&(ask.clone(), date));
        }
    }

    /// Today where the page is about; the day of the store for what does not hang on the date.
    fn date(&self, ask: &Ask, now: DateTime<Utc>) -> Result<NaiveDate, Refusal> {
        let snapshot = self.snapshot()?;
        let now = match ask.is_timeless() {
            true => snapshot.changed,
            false => now,
        };
        match ask.site() {
            None => Ok(snapshot
                .sites
                .first()
                .map_or(now.date_naive(), |s| s.today(now))),
            Some(id) => Ok(snapshot.site(id).ok_or(Refusal::Absent)?.today(now)),
        }
    }

    /// How the service's own pages are linked.
    pub(super) fn addresses(&self) -> Addresses {
        let settings = self.snapshot.as_ref().map(|s| &s.workspace.service);
        let below = settings.and_then(|s| s.public_url.as_ref());
        let below = below.map_or("", |url| url.path().trim_end_matches('/'));
        Addresses::Service(below.to_owned())
    }

    /// Renders what is asked for.
    pub(super) fn render(&self, ask: &Ask, now: DateTime<Utc>) -> Result<Made, Refusal> {
        render(self.snapshot()?, ask, &self.addresses(), now)
    }
}
