//! Darwin Core Archives: an occurrence core, or an event core with occurrences and, where it has
//! them, the Humboldt extension's words on effort and full reporting.

pub mod event_date;
mod events;
mod meta;
mod open;
mod place;
mod rows;
mod tree;

pub(crate) use open::{Archive, open};
pub use open::{Described, describe};
pub(crate) use rows::{occurrences, visits};

/// Row types and terms: the Darwin Core list of terms and the Humboldt Extension (TDWG).
const DWC: &str = "http://rs.tdwg.org/dwc/terms/";
const ECO: &str = "http://rs.tdwg.org/eco/terms/";
/// Row type of events.
pub const EVENT: &str = "http://rs.tdwg.org/dwc/terms/Event";
/// Row type of occurrences.
pub const OCCURRENCE: &str = "http://rs.tdwg.org/dwc/terms/Occurrence";
/// Row type of the Humboldt extension.
pub const HUMBOLDT: &str = "http://rs.tdwg.org/eco/terms/Event";
