//! How often a step that failed is tried again, by the kind of what stopped it.

use super::tables::TablesError;
use crate::fitting::FittingError;
use ingest::fetch::FetchError;
use ingest::{LoadError, StoreError};
use std::error::Error;
use std::io;
use std::time::Duration;

/// What stopped a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Another Wingtide is at work on the store.
    Busy,
    /// An address that does not answer, a full disk: somebody else mends it, perhaps soon.
    Outside,
    /// Somebody has to change something.
    Lasting,
}

/// Why a step did not do its work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// What stopped it.
    pub kind: Kind,
    /// One sentence.
    pub sentence: String,
}

impl Fault {
    /// One that somebody has to mend.
    pub fn lasting(sentence: impl Into<String>) -> Self {
        Fault {
            kind: Kind::Lasting,
            sentence: sentence.into(),
        }
    }
}

impl<E: Error + 'static> From<E> for Fault {
    fn from(error: E) -> Self {
        Fault {
            kind: kind_of(&error),
            sentence: error.to_string(),
        }
    }
}

/// The wait before the next try after so many; None where the next run has to do.
///
/// A load takes minutes at most, a server that starts anew a quarter of an hour, and a file that is
/// being saved while it is read a minute; common practice, no source.
pub fn wait(kind: Kind, tries: u32) -> Option<Duration> {
    let seconds: &[u64] = match kind {
        Kind::Busy => &[5, 10, 20, 40, 60, 60, 60, 60],
        Kind::Outside => &[60, 240, 960],
        Kind::Lasting => &[60],
    };
    let tries = usize::try_from(tries).unwrap_or(usize::MAX);
    let seconds = seconds.get(tries.saturating_sub(1))?;
    Some(Duration::from_secs(*seconds))
}

/// What stopped whatever gave this error.
pub fn kind_of(error: &(dyn Error + 'static)) -> Kind {
    let mut cause = Some(error);
    while let Some(error) = cause {
        if let Some(kind) = known(error) {
            return kind;
        }
        cause = error.source();
    }
    Kind::Lasting
}

/// Errors that pass on another's words have no source of their own, so each is asked by its type.
fn known(error: &(dyn Error + 'static)) -> Option<Kind> {
    if let Some(error) = error.downcast_ref::<io::Error>() {
        return of_io(error);
    }
    if let Some(error) = error.downcast_ref::<FetchError>() {
        return match error {
            FetchError::Disk { cause, .. } => of_io(cause),
            _ => Some(Kind::Outside),
        };
    }
    if let Some(LoadError::Store(error)) = error.downcast_ref() {
        return of_store(error);
    }
    if let Some(FittingError::Store(error)) = error.downcast_ref() {
        return of_store(error);
    }
    match error.downcast_ref() {
        Some(TablesError::Busy) => Some(Kind::Busy),
        Some(TablesError::Disk { cause, .. }) => of_io(cause),
        Some(TablesError::Damaged(error)) => of_sqlite(error),
        Some(_) => None,
        None => of_store(error.downcast_ref()?),
    }
}

fn of_store(error: &StoreError) -> Option<Kind> {
    match error {
        StoreError::Busy | StoreError::Overtaken => Some(Kind::Busy),
        StoreError::Disk { cause, .. } => of_io(cause),
        StoreError::Ledger(error) => of_sqlite(error),
        _ => None,
    }
}

fn of_sqlite(error: &rusqlite::Error) -> Option<Kind> {
    use rusqlite::ErrorCode::{DatabaseBusy, DatabaseLocked, DiskFull};
    match error.sqlite_error_code()? {
        DatabaseBusy | DatabaseLocked => Some(Kind::Busy),
        DiskFull => Some(Kind::Outside),
        _ => None,
    }
}

fn of_io(error: &io::Error) -> Option<Kind> {
    use io::ErrorKind::{QuotaExceeded, StorageFull, TimedOut};
    let passes = matches!(error.kind(), StorageFull | QuotaExceeded | TimedOut);
    passes.then_some(Kind::Outside)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_may_pass_is_told_from_what_lasts() {
        let full = || io::Error::from(io::ErrorKind::StorageFull);
        assert_eq!(Fault::from(full()).kind, Kind::Outside);
        let kind = |error: StoreError| Fault::from(LoadError::Store(error)).kind;
        assert_eq!(kind(StoreError::Busy), Kind::Busy);
        assert_eq!(kind(StoreError::Emptied), Kind::Lasting);
        let disk = StoreError::Disk {
            path: "ledger.sqlite".into(),
            doing: "written",
            cause: full(),
        };
        assert_eq!(Fault::from(FittingError::Store(disk)).kind, Kind::Outside);
        assert_eq!(Fault::from(LoadError::NoSources).kind, Kind::Lasting);
    }

    #[test]
    fn every_kind_is_tried_again_and_none_for_ever() {
        for kind in [Kind::Busy, Kind::Outside, Kind::Lasting] {
            assert!(wait(kind, 1).is_some());
            assert_eq!(wait(kind, 20), None);
            let all: Duration = (1..20).filter_map(|tries| wait(kind, tries)).sum();
            assert!(all < Duration::from_secs(30 * 60), "{kind:?}: {all:?}");
        }
    }
}
