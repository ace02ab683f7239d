//! Gates to temperature: they open on a real link, hardly ever on none, and tell the slope.

#![allow(clippy::disallowed_methods)] // the lint is for the crate; its tests read their data

mod closed;
mod lake_ice;
mod link;
mod no_link;
mod site;
mod weather;
