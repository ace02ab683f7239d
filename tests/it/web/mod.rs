//! Pages, feeds and the interface for programs, asked for without a network.

mod base;
mod scene;
