//! Files that a library reads, read in a process of its own.
//!
//! A workbook or Parquet file comes from anywhere, and a library that is led astray by one may
//! panic, ask for all the memory there is, or never end. So the program starts itself anew for the
//! reading, with bounds on memory, on the size of what it writes and on time: whatever goes wrong
//! there ends in one sentence here. The two share a folder: `task` and `input` go in, and one file
//! of rows for each table comes out, named by `tables`; or `refused`, with a phrase that says why.

mod child;
mod run;
mod sink;
mod task;

pub use child::{FOLDER, at_start, serve};
pub use run::{Program, register};
pub(crate) use run::{Read, read};
pub(crate) use sink::{Sink, number};
pub(crate) use task::{Tables, What};
