//! Names of observers that former loads kept, where the settings allow none any more, or no more than
//! their first letters.

use crate::load::{Content, Prepared, still};
use crate::store::{Erased, Store, StoreError};
use config::meaning::KeepObservers;
use config::settings::Workspace;

/// End of the basis of a landing at which no name was left.
const NO_NAMES: &str = " no names";
/// End of that of one at which first letters alone were left.
const FIRST_LETTERS: &str = " first letters";

/// The basis of a landing before which names were cleared, where they may not be kept.
pub(crate) fn cleared(workspace: &Workspace, basis: String) -> String {
    basis + end_of(workspace.records.keep_observers)
}

fn end_of(keep: KeepObservers) -> &'static str {
    match keep {
        KeepObservers::None => NO_NAMES,
        KeepObservers::Initials => FIRST_LETTERS,
        KeepObservers::Names => "",
    }
}

/// The basis of a landing that leaves names as they are: what is still to be cleared is cleared at
/// the next load, for which this is another basis.
pub(crate) fn as_before(store: &Store, basis: String) -> Result<String, StoreError> {
    let ends = [NO_NAMES, FIRST_LETTERS];
    let Some(end) = ends.into_iter().find(|end| basis.ends_with(end)) else {
        return Ok(basis);
    };
    match is_cleared(store, end)? {
        true => Ok(basis),
        false => Ok(basis[..basis.len() - end.len()].to_owned()),
    }
}

/// Did the last landing leave no more than a basis with this end allows?
fn is_cleared(store: &Store, end: &str) -> Result<bool, StoreError> {
    let last = store.last_load()?;
    Ok(last.is_some_and(|(_, basis)| basis.ends_with(NO_NAMES) || basis.ends_with(end)))
}

/// Erases names that may no longer be kept, before the load lands: where it is stopped in between,
/// the next one begins anew. What was prepared is brought up to the batches as they are then.
pub(crate) fn clear(
    workspace: &Workspace,
    store: &mut Store,
    prepared: &mut [Prepared],
) -> Result<Option<Erased>, StoreError> {
    let end = end_of(workspace.records.keep_observers);
    if end.is_empty() || is_cleared(store, end)? {
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
