//! `[fetch]`: limits for sources with an address.

use crate::raw::{Key, Section};
use crate::settings::FetchSettings;
use std::time::Duration;

const KEYS: &[Key] = &[
    Key("timeout_s", "a whole number of seconds from 1 to 3600"),
    Key("max_mib", "a whole number of MiB from 1 to 2048"),
    Key("tries", "a whole number of tries from 1 to 10"),
    Key("wait_s", "a whole number of seconds from 0 to 600"),
    Key("longest_wait_s", "a whole number of seconds from 0 to 3600"),
    Key("redirects", "a whole number from 0 to 20"),
    Key("private", "true or false"),
];

const TIMEOUT_S: u32 = 60;
const MAX_MIB: u32 = 256;
const TRIES: u32 = 4;
const WAIT_S: u32 = 2;
const LONGEST_WAIT_S: u32 = 120;
const REDIRECTS: u32 = 5;

impl Default for FetchSettings {
    fn default() -> Self {
        let seconds = |s: u32| Duration::from_secs(u64::from(s));
        FetchSettings {
            timeout: seconds(TIMEOUT_S),
            max_mib: u64::from(MAX_MIB),
            tries: TRIES,
            wait: seconds(WAIT_S),
            longest_wait: seconds(LONGEST_WAIT_S),
            redirects: REDIRECTS,
            private: false,
        }
    }
}

/// The `[fetch]` of the file, or its defaults.
pub(crate) fn read(top: &Section<'_>) -> Option<FetchSettings> {
    let section = top.section("fetch", KEYS);
    let whole = |key, range, default| match &section {
        Some(section) => section.whole(key, range, default),
        None => Some(default),
    };
    let seconds =
        |key, range, default| whole(key, range, default).map(|s| Duration::from_secs(u64::from(s)));
    let timeout = seconds("timeout_s", 1..=3600, TIMEOUT_S);
    let max_mib = whole("max_mib", 1..=2048, MAX_MIB);
    let tries = whole("tries", 1..=10, TRIES);
    let wait = seconds("wait_s", 0..=600, WAIT_S);
    let longest_wait = seconds("longest_wait_s", 0..=3600, LONGEST_WAIT_S);
    let redirects = whole("redirects", 0..=20, REDIRECTS);
    Some(FetchSettings {
        timeout: timeout?,
        max_mib: u64::from(max_mib?),
        tries: tries?,
        wait: wait?,
        longest_wait: longest_wait?,
        redirects: redirects?,
        private: section.is_some_and(|s| s.flag("private")),
    })
}
