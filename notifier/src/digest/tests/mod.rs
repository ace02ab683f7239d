//! Digests of three weeks at the invented reserve, and what is asked of every one.

pub(crate) mod digests;
mod mail;
mod marks;
mod pages;
