//! What the tests that cross crates share.

pub mod night_migrants;
pub mod places;
pub mod program;
pub mod readme;
