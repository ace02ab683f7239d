//! What the years say beside dates and chances: whether timing follows the temperature, whether
//! dates have moved, and where the few records of a scarce species lie.

pub mod changes;
pub mod few;
pub mod json;
pub mod temperature;
pub mod week;

pub use week::{Findings, Followed, Temperature};

use forecast::fit::PassageName;

/// A passage's season as it is written.
pub fn passage(name: PassageName) -> &'static str {
    match name {
        PassageName::Spring => "spring",
        PassageName::Autumn => "autumn",
        PassageName::Winter => "winter",
        PassageName::Summer => "summer",
        PassageName::AllYear => "all-year",
    }
}
