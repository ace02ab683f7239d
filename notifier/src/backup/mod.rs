//! A workspace in one archive, and back: its settings, the sets and templates that they name, and
//! the store. Not the sources, which are yours, and no password or private key.

mod error;
mod gather;
mod manifest;
mod pack;
mod unpack;

pub use error::BackupError;
pub use pack::{Packed, pack};
pub use unpack::{Unpacked, unpack};
