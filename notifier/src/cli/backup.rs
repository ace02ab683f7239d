//! `wingtide backup`

use super::args::Backup;
use super::{Failure, Streams};
use crate::backup::pack;
use crate::words;
use chrono::Utc;
use std::path::Path;

/// Packs the workspace; a service or a load may go on meanwhile.
pub fn run(dir: &Path, args: &Backup, streams: &mut Streams) -> Result<(), Failure> {
    let workspace = config::load(dir)?;
    let packed = pack(&workspace, &args.file, Utc::now())?;
    writeln!(streams.out, "{}", args.file.display())?;
    let files = words::plain_spaces(&words::count_of(packed.files, "file", "files"));
    streams.remark(&format!(
        "{files}, {} KiB before packing. It holds the addresses of readers: keep it where only \
         you can read it. Your own count files, passwords and private keys are not in it.",
        packed.bytes.div_ceil(1024)
    ))?;
    for path in packed.outside {
        writeln!(
            streams.err,
            "warning: {} lies outside the workspace and is not in it",
            path.display()
        )?;
    }
    Ok(())
}
