//! Names of observers that former loads kept, where the settings allow none any more.

use crate::load::{Content, Prepared, still};
use crate::store::{Erased, Store, StoreError};
use config::meaning::KeepObservers;
use config::settings::Workspace;

/// End of the basis of a landing at which no name was left.
const NO_NAMES: &str = " no names";

/// The basis of a landing before which names were cleared, where none may be kept.
pub(crate) fn cleared(workspace: &Workspace, mut basis: String) -> String {
    if workspace.records.keep_observers == KeepObservers::None {
        basis += NO_NAMES;
    }
    basis
}

/// The basis of a landing that leaves names as they are: what is still to be cleared is cleared at
/// the next load, for which this is another basis.
pub(crate) fn as_before(store: &Store, basis: String) -> Result<String, StoreError> {
    if is_cleared(store)? {
        return Ok(basis);
    }
    let unmarked = basis.strip_suffix(NO_NAMES).map(str::to_owned);
    Ok(unmarked.unwrap_or(basis))
}

fn is_cleared(store: &Store) -> Result<bool, StoreError> {
    let last = store.last_load()?;
    Ok(last.is_some_and(|(_, basis)| basis.ends_with(NO_NAMES)))
}

/// Erases names that may no longer be kept, before the load lands: where it is stopped in between,
/// the next one begins anew. What was prepared is brought up to the batches as they are then.
pub(crate) fn clear(
    workspace: &Workspace,
    store: &mut Store,
    prepared: &mut [Prepared],
) -> Result<Option<Erased>, StoreError> {
    if workspace.records.keep_observers != KeepObservers::None || is_cleared(store)? {
        return Ok(None);
    }
    let erased = store.erase_all_names()?;
    if erased == Erased::default() {
        return Ok(None);
    }
    let batches = store.batches()?;
    for source in prepared {
        if let Content::Kept(batch) = &mut source.content
            && let Some(now) = batches.iter().find(|b| b.id == batch.id)
        {
            **batch = now.clone();
            source.report = still(&now.report);
        }
    }
    Ok(Some(erased))
}
