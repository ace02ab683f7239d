//! The records that are asked about, worked out once for each state of the store.

use crate::second_look::{SecondLooks, Which, list};
use crate::subscribers::SubscribersError;
use crate::web::stamp::Stamp;
use config::settings::Workspace;
use ingest::store::{Answer, FoundBy, Store, StoreError};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

/// Open questions shown, the most surprising first.
pub(super) const MOST: usize = 40;

/// What there is to show.
pub(super) struct Listed {
    pub workspace: Workspace,
    /// None where nothing is loaded, or past seasons are still to be worked out.
    pub looks: Option<SecondLooks>,
    /// Rows behind the open questions that are shown, by the record's fingerprint.
    pub rows: BTreeMap<String, Vec<FoundBy>>,
    /// Every answer, the first one first.
    pub answers: Vec<Answer>,
}

/// What was listed last.
#[derive(Default)]
pub(in crate::service::desk) struct Looks(Mutex<Option<(Stamp, Arc<Listed>)>>);

impl Looks {
    /// As settings and store stand.
    pub(super) fn now(&self, dir: &Path) -> Result<Arc<Listed>, SubscribersError> {
        let stamp = Stamp::of(dir);
        // one keeper looks at a time; whoever comes meanwhile gets what was worked out
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, listed)) = known.as_ref().filter(|(last, _)| *last == stamp) {
            return Ok(Arc::clone(listed));
        }
        let listed = Arc::new(read(dir)?);
        *known = Some((stamp, Arc::clone(&listed)));
        Ok(listed)
    }

    /// Forgets it: an answer was kept.
    pub(super) fn forget(&self) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }
}

fn read(dir: &Path) -> Result<Listed, SubscribersError> {
    let workspace = config::load(dir).map_err(told)?;
    let store = match Store::open_existing(&workspace.root) {
        Ok(store) => store,
        Err(StoreError::Absent(_) | StoreError::Emptied) => {
            return Ok(Listed {
                workspace,
                looks: None,
                rows: BTreeMap::new(),
                answers: Vec::new(),
            });
        }
        Err(why) => return Err(told(why)),
    };
    let looks = list(&workspace, &store, None, Which::Usual).map_err(told)?;
    let mut rows = BTreeMap::new();
    for question in looks.iter().flat_map(SecondLooks::pending).take(MOST) {
        let key = &question.key;
        let found = store.found_by(&key.site, key.date, &key.species);
        rows.insert(question.record.clone(), found.map_err(told)?);
    }
    Ok(Listed {
        answers: store.answers().map_err(told)?,
        workspace,
        looks,
        rows,
    })
}

pub(super) fn told(why: impl std::fmt::Display) -> SubscribersError {
    SubscribersError::Settings(why.to_string())
}
