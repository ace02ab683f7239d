//! Turns what people have into clean visits and counts, and keeps them.
//!
//! [`load`] reads every source of a workspace, tells what became of each row, and lands the
//! accepted ones in the store in one transaction. [`store::Store`] hands them to the models.

mod cell;
mod count;
mod date;
pub mod error;
pub mod export;
pub mod fetch;
pub mod full;
mod gaps;
mod half_years;
mod intern;
mod known;
mod load;
mod loose;
mod mapping;
mod moment;
mod names;
mod names_kept;
mod nothing;
mod overlap;
mod parties;
pub mod passing;
pub mod propose;
mod read;
mod rehearse;
pub mod report;
mod settle;
mod source;
pub mod store;
pub mod suspects;
mod totals;
mod undo;
mod visit;

pub use error::LoadError;
pub use fetch::fetch;
pub use load::{Progress, load, load_again};
pub use read::confined;
pub use read::darwin_core;
pub use read::fault::FormatError;
pub use rehearse::rehearse;
pub use report::LoadReport;
pub use source::coordinates::distance_km;
pub use store::{EraseError, STORE_FOLDER, Store, StoreError, UndoError, WhoseName};
pub use undo::{Undone, undo};
