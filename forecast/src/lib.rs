//! Seasonal curves, passages and windows: arrays and dates in, typed results out.
//!
//! This crate is pure. It opens no file and no socket, reads no environment and no clock;
//! "now" and every random seed are arguments.

pub mod backtest;
pub mod bessel;
pub mod calendar;
pub mod chance;
pub mod circular;
pub mod climatology;
pub mod degree_days;
pub mod detection;
pub mod endpoint;
pub mod extremes;
pub mod fit;
pub mod negative_binomial;
pub mod normal;
pub mod outlook;
pub mod overlap;
pub mod passage;
pub mod plan;
pub mod regression;
pub mod score;
pub mod season;
pub mod season_shift;
pub mod second_look;
pub mod series;
pub mod share;
pub mod stands;
pub mod straight_line;
pub mod sun;
pub mod temperature;
pub mod trend;
pub mod updating;
pub mod watched;
pub mod window;
pub mod year_curve;
