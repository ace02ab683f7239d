//! `wingtide new DIR`

use super::args::New;
use super::{Failure, Streams};
use std::fs;
use std::io::{ErrorKind, Write};

/// Makes the folder and writes the commented settings; an existing file is left alone.
pub fn run(args: &New, streams: &mut Streams) -> Result<(), Failure> {
    fs::create_dir_all(&args.dir).map_err(|e| {
        Failure::new(format!(
            "cannot make the folder {}: {e}",
            args.dir.display()
        ))
    })?;
    let path = args.dir.join(config::FILE_NAME);
    let mut file = fs::File::create_new(&path).map_err(|e| match e.kind() {
        ErrorKind::AlreadyExists => Failure::new(format!(
            "{} exists already; it was left as it is",
            path.display()
        )),
        _ => Failure::new(format!("cannot write {}: {e}", path.display())),
    })?;
    file.write_all(config::new_workspace_toml().as_bytes())?;
    writeln!(streams.out, "{}", path.display())?;
    writeln!(
        streams.err,
        "Write your sites and files into it, then run: wingtide --dir {0} load, then fit, then week.",
        args.dir.display()
    )?;
    Ok(())
}
