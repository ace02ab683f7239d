//! How long the rows of former batches are kept.

use super::error::StoreError;
use super::listed::State;
use super::summed;
use config::settings::StoreSettings;
use rusqlite::{Row, Transaction};
use std::collections::{BTreeMap, BTreeSet};

/// A batch whose rows are there.
struct Held {
    id: i64,
    state: State,
    replaces: Option<i64>,
    bytes: u64,
}

/// Lets go of rows that no undo reaches or that are more than the settings keep. Their files go
/// when the transaction has landed, as the ledger names them no longer.
pub(super) fn retain(tx: &Transaction<'_>, settings: &StoreSettings) -> Result<(), StoreError> {
    let mut statement = tx.prepare(
        "SELECT id, state, replaces, bytes FROM batches WHERE parquet <> '' ORDER BY id",
    )?;
    let rows = statement.query_map([], held)?;
    let held: BTreeMap<i64, Held> = rows
        .map(|h| h.map(|h| (h.id, h)))
        .collect::<Result<_, _>>()?;
    for id in let_go(&held, settings) {
        tx.execute(
            "UPDATE batches SET parquet = '', bytes = 0 WHERE id = ?1",
            [id],
        )?;
    }
    summed::forget_let_go(tx)
}

fn held(row: &Row<'_>) -> rusqlite::Result<Held> {
    Ok(Held {
        id: row.get(0)?,
        state: State::of(&row.get::<_, String>(1)?),
        replaces: row.get(2)?,
        bytes: row.get::<_, i64>(3)?.unsigned_abs(),
    })
}

fn let_go(held: &BTreeMap<i64, Held>, settings: &StoreSettings) -> Vec<i64> {
    let mut kept = reached(held, settings.keep_batches as usize);
    let most = settings.max_mib.map(|mib| u64::from(mib) << 20);
    let bytes = |kept: &BTreeSet<i64>| {
        let batches = held.values();
        let counted = batches.filter(|h| h.state == State::Current || kept.contains(&h.id));
        counted.map(|h| h.bytes).sum::<u64>()
    };
    while most.is_some_and(|most| bytes(&kept) > most) {
        if kept.pop_first().is_none() {
            break; // rows in use are never let go
        }
    }
    let former = held.values().filter(|h| h.state != State::Current);
    former
        .map(|h| h.id)
        .filter(|id| !kept.contains(id))
        .collect()
}

/// Former batches that one undo after another would bring back, at most so many a source.
fn reached(held: &BTreeMap<i64, Held>, most: usize) -> BTreeSet<i64> {
    let before = |batch: &&Held| batch.replaces.and_then(|id| held.get(&id));
    let current = held.values().filter(|h| h.state == State::Current);
    let chains = current.map(|h| std::iter::successors(before(&h), before).take(most));
    chains.flatten().map(|h| h.id).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use State::*;

    const MIB: u64 = 1 << 20;

    fn store() -> BTreeMap<i64, Held> {
        // 1 <- 3 <- 6 of one source, 2 <- 4 (undone), 2 <- 5 of another, 7 taken out
        let all = [
            (1, Replaced, None),
            (2, Replaced, None),
            (3, Replaced, Some(1)),
            (4, Undone, Some(2)),
            (5, Current, Some(2)),
            (6, Current, Some(3)),
            (7, TakenOut, None),
        ];
        let held = |(id, state, replaces)| Held {
            id,
            state,
            replaces,
            bytes: MIB,
        };
        all.map(|one| (one.0, held(one))).into()
    }

    fn gone(keep_batches: u32, max_mib: Option<u32>) -> Vec<i64> {
        let settings = StoreSettings {
            keep_batches,
            max_mib,
        };
        let_go(&store(), &settings)
    }

    #[test]
    fn only_what_an_undo_reaches_is_kept_the_oldest_go_first() {
        assert_eq!(gone(5, None), [4, 7]);
        assert_eq!(gone(1, None), [1, 4, 7]);
        assert_eq!(gone(0, None), [1, 2, 3, 4, 7]);
        assert_eq!(gone(5, Some(5)), [4, 7]);
        assert_eq!(gone(5, Some(3)), [1, 2, 4, 7]);
        assert_eq!(gone(5, Some(1)), [1, 2, 3, 4, 7]);
    }
}
