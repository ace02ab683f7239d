//! The loader and its store from outside, on workspaces built for each test.

mod conserved;
mod issued;
mod loads;
mod real_counts;
mod series;
mod stops;
mod store;
mod suspects;
mod workspace;
