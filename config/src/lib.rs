//! What the people wrote down: settings, sites, species, sources, look-alike sets and marks.
//!
//! [`load`] is the only code here that touches a disk.

pub mod look_alikes;
pub mod settings;
