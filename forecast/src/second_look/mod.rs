//! Which records deserve a second look: each is held to the forecast made without it, beside the
//! slips that could have put it there.
//!
//! A record is the count of one species on one visit. Its score is the logarithm of a ratio: how
//! likely the record is if a slip made it (day and month that changed places, another member of
//! its look-alike set, a nought too many, or anything else), each slip weighted by how often it
//! is made, over how likely it is as it stands. One score so ranks all kinds. Where questions
//! begin is told by the scores of earlier years' records, most of which are true
//! ([`threshold`]).
//!
//! Nothing here says that a record is wrong: a score is a reason to ask.

mod evidence;
mod expected;
mod said;
#[cfg(test)]
mod tests;
pub mod threshold;
mod why;

pub use evidence::{Explanation, Judged, Weights, judge};
pub use expected::{Expected, Habits};
pub use said::{Said, Told, swapped};
pub use why::{InDoubt, Outside, Reason, Standing, why};
