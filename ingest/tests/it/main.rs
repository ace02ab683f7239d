//! The loader and its store from outside, on workspaces built for each test.

mod batches;
mod conserved;
mod darwin_core;
mod export;
mod fetched;
mod formats;
mod half_years;
mod hostile;
mod issued;
mod layouts;
mod loads;
mod older_stores;
mod real_counts;
mod series;
mod stops;
mod store;
mod suspects;
mod workspace;
