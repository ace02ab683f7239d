//! Files as people keep them.

pub(crate) mod delimited;
pub(crate) mod header;
pub(crate) mod text;
