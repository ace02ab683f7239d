//! What the tests that cross crates share.

mod ledger;
pub mod listened;
pub mod night_migrants;
pub mod octets;
pub mod places;
pub mod postfix;
pub mod program;
pub mod readme;
pub mod reserve;
pub mod router;
pub mod scripted;
pub mod written;
