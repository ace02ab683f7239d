//! Everything that people read or receive, and the program itself.

pub mod demo;
pub mod guidance;
