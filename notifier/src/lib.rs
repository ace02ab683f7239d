//! Everything that people read or receive, and the program itself.

pub mod chart;
pub mod columns;
pub mod demo;
pub mod digest;
pub mod guidance;
pub mod week;
pub mod words;
