//! What crosses crates, and checks against published values.

mod check_book;
mod year_curves_mgcv;
