//! What stands between the service's pages and those who would do harm by them: how long a request
//! may take to come, how many come from one peer, and which forms are ours.

pub mod forms;
pub mod patience;
pub(crate) mod plain;
pub mod rate;
