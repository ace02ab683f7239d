//! What crosses crates, and checks against published values.

mod check_book;
mod contracts;
mod real_counts;
mod stopped;
mod year_curves_mgcv;
