//! `wingtide serve`: what is done when, by one process that is meant to run for years.

pub mod tables;
