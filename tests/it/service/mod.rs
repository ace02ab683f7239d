//! `wingtide serve`: its times, its runs, what it shows, and how it ends.

mod deploy;
mod process;
mod running;
pub(crate) mod scene;
mod year;
