//! Files as people keep them.

mod absent;
mod ahead;
mod below_header;
mod claims;
pub mod confined;
pub mod darwin_core;
pub(crate) mod delimited;
pub(crate) mod fault;
pub(crate) mod gather;
pub(crate) mod header;
pub(crate) mod kind;
pub(crate) mod listed;
mod long_line;
pub(crate) mod opened;
mod parquet;
pub(crate) mod rows;
pub(crate) mod stamp;
pub(crate) mod table;
pub(crate) mod text;
pub(crate) mod unpack;
mod wide;
mod workbook;
