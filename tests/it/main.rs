//! What crosses crates, and checks against published values.

mod backtest;
mod backup;
mod batches;
mod check_book;
mod contracts;
mod deliveries;
mod demo;
mod dirty;
mod export;
mod findings;
mod fuzzed;
mod house;
mod look_alikes;
mod newcomer;
mod overlaps;
mod passage_dates;
mod propose;
mod readme;
mod real_counts;
mod record;
mod season;
mod service;
mod south;
mod stopped;
mod web;
mod year_curves_mgcv;
