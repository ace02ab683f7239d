//! Records worth a second look: each held to the forecast made without it, the most surprising
//! asked about, and never one of them removed.
//!
//! How many questions are asked follows from past seasons: at every `fit` their records, taken as
//! true, are judged in the same way, and questions begin where they would have given rise to no
//! more than `false_questions_a_week`.

mod asks;
mod letter;
mod limit;
mod list;
mod past;
mod pending;
mod place;
mod reason;
mod scene;
mod screen;
#[cfg(test)]
mod tests;

pub use letter::letter;
pub use limit::Limit;
pub use list::{Question, SecondLooks, Which, list};
pub use past::Past;
pub use pending::leave_out_pending;
pub(crate) use screen::{TOO_FEW_YEARS, shares, what};
pub use screen::{line, screen, trail};
