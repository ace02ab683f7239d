//! The settings as they stand, read anew only where the file changed.

use crate::subscribers::SubscribersError;
use config::settings::Workspace;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

/// The settings of a workspace.
pub struct Settings {
    dir: PathBuf,
    known: Mutex<Option<(Stamp, Arc<Workspace>)>>,
}

/// How the file looks: when it was written, and how long it is.
type Stamp = (Option<SystemTime>, u64);

impl Settings {
    /// Of the workspace in that folder; nothing is read yet.
    pub fn of(dir: &Path) -> Self {
        Settings {
            dir: dir.to_owned(),
            known: Mutex::default(),
        }
    }

    /// As they stand now.
    ///
    /// # Errors
    /// [`SubscribersError::Settings`] where they cannot be read.
    pub fn now(&self) -> Result<Arc<Workspace>, SubscribersError> {
        let about = std::fs::metadata(self.dir.join("wingtide.toml")).ok();
        let stamp = about.map_or((None, 0), |a| (a.modified().ok(), a.len()));
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, workspace)) = known.as_ref().filter(|(last, _)| *last == stamp) {
            return Ok(Arc::clone(workspace));
        }
        let loaded = config::load(&self.dir);
        let loaded = loaded.map_err(|e| SubscribersError::Settings(e.to_string()))?;
        let workspace = Arc::new(loaded);
        *known = Some((stamp, Arc::clone(&workspace)));
        Ok(workspace)
    }
}
