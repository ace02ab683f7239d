//! Pages, feeds and the interface for programs, asked for without a network.

mod api;
mod base;
mod feeds;
mod kept_back;
mod pages;
mod phone;
pub mod scene;
mod short_names;
mod this_season;
