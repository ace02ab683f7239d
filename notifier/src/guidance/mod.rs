//! This week's guidance: which look-alikes are about together and which marks to trust.

pub mod types;
