//! Fuzzes what people counted; `FUZZ_READER` names the reader.
#![no_main]

#[path = "../readers/counted.rs"]
mod counted;
#[path = "../readers/written.rs"]
mod written;

use libfuzzer_sys::fuzz_target;
use std::panic;
use std::sync::LazyLock;

static READ: LazyLock<fn(&[u8])> = LazyLock::new(|| {
    break_on_our_own_panics_alone();
    written::named(&counted::COUNTED)
});

/// A library that panics over a workbook or Parquet file does so in a thread, or where the program
/// runs in a process of its own, and the panic is caught; so it is where an archive is unpacked.
/// What is our own may not panic anywhere.
fn break_on_our_own_panics_alone() {
    let stop = panic::take_hook();
    panic::set_hook(Box::new(move |told| {
        let file = told.location().map_or("", |place| place.file());
        let foreign = file.contains("/registry/") || file.contains("/rustc/");
        if !foreign {
            stop(told);
        }
    }));
}

fuzz_target!(|bytes: &[u8]| READ(bytes));
