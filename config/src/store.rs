//! `[store]`: how much of what was loaded before is kept.

use crate::raw::{Key, Section};
use crate::settings::StoreSettings;

const KEYS: &[Key] = &[
    Key(
        "keep_batches",
        "how many former batches of each source keep their rows, a whole number from 0 to 1000",
    ),
    Key(
        "max_mib",
        "the most that batches may take on the disk, a whole number of MiB from 1 to 1000000",
    ),
];

/// The `[store]` of the file, or its defaults.
pub(crate) fn read(top: &Section<'_>) -> Option<StoreSettings> {
    let default = StoreSettings::default();
    let Some(section) = top.section("store", KEYS) else {
        return Some(default);
    };
    let keep_batches = section.whole("keep_batches", 0..=1000, default.keep_batches);
    let max_mib = match section.has("max_mib") {
        true => section.whole("max_mib", 1..=1_000_000, 1).map(Some),
        false => Some(None),
    };
    Some(StoreSettings {
        keep_batches: keep_batches?,
        max_mib: max_mib?,
    })
}
