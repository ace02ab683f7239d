//! What was loaded: a folder with a ledger (SQLite) and one Parquet file for each source.

mod asked;
mod backup;
mod batches;
mod blot;
mod changes;
mod columns;
mod copy;
mod counts;
mod erasing;
mod error;
mod few_words;
mod fits;
mod former;
mod frames;
mod half_years;
mod issued;
mod landing;
mod ledger;
mod listed;
mod looks;
pub(crate) mod outgoing;
mod retain;
mod rows;
mod second_looks;
mod seen;
mod series;
mod standard;
mod summed;
mod sweep;
mod temperature;
mod undoing;
mod withdrawn;
mod written;
mod written_columns;

pub use batches::BirdsSeen;
pub(crate) use batches::{Record, Whose};
pub use counts::{Sighting, UndecidedBirds};
pub use erasing::{EraseError, Erased, WhoseName};
pub use error::StoreError;
pub use former::FormerLoad;
pub use issued::{IssuedChance, IssuedFrom};
pub(crate) use landing::{Landing, Undo};
pub(crate) use ledger::BatchRow;
pub use listed::{DiskUse, ListedBatch, State};
pub(crate) use rows::StoredRow;
pub use second_looks::{Answer, FoundBy, NewAnswer, RecordKey, ToldOf, Verdict, said};
pub(crate) use seen::SeenFile;
pub use series::SiteHistory;
pub use temperature::DayTemperature;
pub use undoing::UndoError;
pub(crate) use undoing::UndoneBatch;

use crate::report::{Gap, LoadReport};
use rusqlite::Connection;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Folder of the store inside the workspace.
pub const STORE_FOLDER: &str = "wingtide-store";

const LEDGER: &str = "ledger.sqlite";

/// How long another program's transaction is waited for.
const PATIENCE: Duration = Duration::from_secs(5);

/// An open store.
pub struct Store {
    folder: PathBuf,
    conn: Connection,
}

impl Store {
    /// Opens the store in a workspace's folder, or makes an empty one, and clears away what an
    /// interrupted load left.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the folder or the ledger in it cannot be used.
    pub fn open(workspace_root: &Path) -> Result<Self, StoreError> {
        let folder = workspace_root.join(STORE_FOLDER);
        std::fs::create_dir_all(&folder).map_err(|e| StoreError::disk(&folder, "made", e))?;
        let mut conn = Connection::open(folder.join(LEDGER))?;
        conn.busy_timeout(PATIENCE)?;
        ledger::migrate(&mut conn, &folder)?;
        let mut store = Store { folder, conn };
        store.sweep()?;
        Ok(store)
    }

    /// Opens a store that something was loaded into.
    ///
    /// # Errors
    ///
    /// [`StoreError::Absent`] where nothing was, [`StoreError::Emptied`] where all of it was undone
    /// or taken out, else as [`Store::open`].
    pub fn open_existing(workspace_root: &Path) -> Result<Self, StoreError> {
        let store = Store::open_loaded(workspace_root)?;
        match store.batches()?.is_empty() {
            true => Err(StoreError::Emptied),
            false => Ok(store),
        }
    }

    /// Opens a store that something was loaded into, even if nothing is in use any more.
    ///
    /// # Errors
    ///
    /// [`StoreError::Absent`] where nothing was, else as [`Store::open`].
    pub fn open_loaded(workspace_root: &Path) -> Result<Self, StoreError> {
        let absent = || StoreError::Absent(workspace_root.join(STORE_FOLDER).join(LEDGER));
        let store = Store::open_if_there(workspace_root)?.ok_or_else(absent)?;
        match store.listed_batches()?.is_empty() {
            true => Err(absent()),
            false => Ok(store),
        }
    }

    pub(crate) fn open_if_there(workspace_root: &Path) -> Result<Option<Self>, StoreError> {
        let ledger = workspace_root.join(STORE_FOLDER).join(LEDGER);
        // one that was begun on a full disk holds nothing, not even its tables
        if std::fs::metadata(&ledger).is_ok_and(|about| about.len() > 0) {
            return Store::open(workspace_root).map(Some);
        }
        Ok(None)
    }

    /// The ledger's file. Its `user_version` pragma belongs to this crate's migrations.
    pub fn ledger_path(&self) -> PathBuf {
        self.folder.join(LEDGER)
    }

    /// The report on the last load that changed the store.
    pub fn last_report(&self) -> Result<Option<LoadReport>, StoreError> {
        Ok(self.last_load()?.map(|(report, _)| report))
    }

    pub(crate) fn last_load(&self) -> Result<Option<(LoadReport, String)>, StoreError> {
        ledger::last_load(&self.conn)
    }

    /// Half-years treated as gaps, by site and time.
    pub fn gaps(&self) -> Result<Vec<Gap>, StoreError> {
        ledger::gaps(&self.conn)
    }

    pub(crate) fn batches(&self) -> Result<Vec<BatchRow>, StoreError> {
        ledger::batches(&self.conn)
    }
}
