//! The loader and its store from outside, on workspaces built for each test.

mod batches;
mod conserved;
mod darwin_core;
mod erased;
mod export;
mod fetched;
mod formats;
mod generated;
mod half_years;
mod hostile;
mod issued;
mod layouts;
mod loads;
mod meaning;
mod older_stores;
mod overlaps;
mod real_counts;
mod series;
mod species_names;
mod stops;
mod store;
mod suspects;
mod untouched;
mod when_and_where;
mod workbooks;
mod workspace;
