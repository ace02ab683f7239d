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

/// What is asked for, and the date that it is about.
type Key = (Ask, NaiveDate);

/// Pages of a snapshot. What a page says also hangs on the date, which is part of its key.
pub(super) struct Shelf {
    pub(super) snapshot: Option<Snapshot>,
    slots: Mutex<HashMap<Key, Slot>>,
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

    /// The place of a page. Nothing is kept for a site or a sheet that is not there.
    pub(super) fn slot(&self, ask: &Ask, now: DateTime<Utc>) -> Result<Slot, Refusal> {
        let key = (ask.clone(), self.date(ask, now)?);
        if self.is_known_to_lack(ask) {
            return Err(Refusal::Absent);
        }
        let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        if slots.len() >= MOST && !slots.contains_key(&key) {
            make_room(&mut slots, &key);
        }
        Ok(Arc::clone(slots.entry(key).or_default()))
    }

    /// Is it a sheet beyond the last one? False while nobody has counted them.
    fn is_known_to_lack(&self, ask: &Ask) -> bool {
        let Ask::YearFile(site, file) = ask else {
            return false;
        };
        let site = self.snapshot.as_ref().and_then(|s| s.site(site));
        let sheets = site.and_then(|s| s.sheets.get());
        sheets.is_some_and(|sheets| file.is_beyond(*sheets))
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

/// Lets go of pages of former days, then of what somebody can ask for without end, then of all but
/// what most ask for and what is dear to make, of which each site has a few, until there is room.
/// Whoever asks for very many does not drive out those.
fn make_room(slots: &mut HashMap<Key, Slot>, wanted: &Key) {
    let stays: [&dyn Fn(&Key) -> bool; 4] = [
        &|(ask, date)| ask.is_timeless() || wanted.0.is_timeless() || *date >= wanted.1,
        &|(ask, _)| !ask.is_named_week(),
        &|(ask, _)| ask.is_chief() || ask.is_timeless(),
        &|(ask, _)| ask.is_chief(),
    ];
    for stays in stays {
        if slots.len() < MOST {
            return;
        }
        slots.retain(|key, _| stays(key));
    }
}

#[cfg(test)]
mod tests {
    use super::super::ask::YearFile;
    use super::*;

    fn day(day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 9, day).expect("a date")
    }

    fn sheet(number: u8) -> Ask {
        Ask::YearFile("long-bank".to_owned(), YearFile::Png(number))
    }

    /// The shelf of one site, of whose year nobody has counted the sheets.
    fn shelf(dir: &tempfile::TempDir) -> Shelf {
        let settings = "[workspace]\nname = \"Skerrow Ness\"\n[[site]]\nid = \"long-bank\"\n\
            name = \"Long Bank\"\nlatitude = 54.9\nlongitude = -1.2\n\
            time_zone = \"Europe/London\"\nregion = \"western-palearctic\"\n";
        std::fs::write(dir.path().join(config::FILE_NAME), settings).expect("written");
        Shelf::new(Some(Snapshot::read(dir.path()).expect("a snapshot")))
    }

    #[test]
    fn a_sheet_beyond_the_last_gets_no_place() {
        let dir = tempfile::tempdir().expect("a folder");
        let shelf = shelf(&dir);
        let now = "2026-09-09T12:00:00Z".parse().expect("an instant");
        let places = || shelf.slots.lock().expect("no panic").len();
        let snapshot = shelf.snapshot.as_ref().expect("a snapshot");
        assert!(shelf.slot(&sheet(3), now).is_ok(), "nobody has counted");
        shelf.forget(&sheet(3), now);
        let counted = snapshot.sites[0].sheets.set(2);
        assert_eq!(counted, Ok(()));
        for beyond in [0, 3, 255] {
            let refused = shelf.slot(&sheet(beyond), now).map(|_| ());
            assert_eq!(refused, Err(Refusal::Absent), "{beyond}");
        }
        assert_eq!(places(), 0);
        assert!(shelf.slot(&sheet(2), now).is_ok());
        assert_eq!(places(), 1);
    }

    #[test]
    fn a_flood_of_weeks_drives_out_weeks_alone() {
        let mut slots: HashMap<Key, Slot> = HashMap::new();
        let species = |n: u32| Ask::Species("long-bank".to_owned(), n.to_string());
        let week = |n: i64| {
            let monday = day(7) + chrono::Duration::weeks(n);
            Ask::Week("long-bank".to_owned(), Some(monday))
        };
        // a sheet is kept under the day of the store, which lies before today
        let old = (sheet(1), day(1));
        let dear = [old.clone(), (species(1), day(9)), (Ask::Home, day(9))];
        slots.extend(dear.iter().map(|key| (key.clone(), Slot::default())));
        for n in 0..3000 {
            let key = (week(n), day(9));
            if slots.len() >= MOST {
                make_room(&mut slots, &key);
            }
            slots.insert(key, Slot::default());
            assert!(slots.len() <= MOST);
        }
        assert!(dear.iter().all(|key| slots.contains_key(key)));
        // of many species, too, those alone go
        for n in 0..1000 {
            let key = (species(n), day(9));
            if slots.len() >= MOST {
                make_room(&mut slots, &key);
            }
            slots.insert(key, Slot::default());
        }
        assert!(slots.len() <= MOST && slots.contains_key(&old));
    }
}
