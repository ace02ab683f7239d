//! Everything that people read or receive, and the program itself.

pub mod backtest;
pub mod backup;
pub mod channel;
pub mod chart;
pub mod cli;
pub mod columns;
pub mod compose;
pub mod deliveries;
pub mod demo;
pub mod digest;
pub mod drawing;
pub mod findings;
pub mod fitting;
pub mod guidance;
pub mod lesson;
pub mod load_report;
pub mod loaded;
pub mod record;
pub mod season;
pub mod service;
pub mod web;
pub mod week;
mod whole_file;
pub mod windows;
pub mod words;
