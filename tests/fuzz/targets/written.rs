//! Fuzzes what people write down; `FUZZ_READER` names the reader.
#![no_main]

#[path = "../readers/written.rs"]
mod written;

use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;

static READ: LazyLock<fn(&[u8])> = LazyLock::new(|| written::named(&written::WRITTEN));

fuzz_target!(|bytes: &[u8]| READ(bytes));
