//! What people write down, read from bytes alone.

use std::io;
use std::path::Path;

/// A reader's name and what it does with a file's bytes.
pub type Reader = (&'static str, fn(&[u8]));

/// The readers of this file.
#[allow(dead_code)] // a target has its own readers alone
pub const WRITTEN: [Reader; 2] = [("settings", settings), ("set", set)];

/// The reader that `FUZZ_READER` names.
#[allow(dead_code)] // replaying calls each by its place
pub fn named(readers: &[Reader]) -> fn(&[u8]) {
    let wanted = std::env::var("FUZZ_READER").unwrap_or_default();
    let names: Vec<&str> = readers.iter().map(|(name, _)| *name).collect();
    match readers.iter().find(|(name, _)| *name == wanted) {
        Some((_, read)) => *read,
        None => panic!(
            "FUZZ_READER is \"{wanted}\", which is none of {}",
            names.join(", ")
        ),
    }
}

/// `wingtide.toml`, whose look-alike set files are not there.
fn settings(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let none = |_: &Path| Err(io::ErrorKind::NotFound.into());
    if let Err(error) = config::parse(text, Path::new("/skerrow-ness"), none) {
        told(&error.to_string());
    }
}

/// A look-alike set file.
fn set(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    if let Err(error) = config::look_alikes::parse_set("set.toml", text) {
        told(&error.to_string());
    }
}

/// A refusal says something.
fn told(words: &str) {
    assert!(!words.trim().is_empty(), "a refusal without a word");
}
