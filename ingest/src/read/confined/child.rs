//! The side that reads.

use super::run::{self, Program};
use super::task::{
    INPUT, MEMORY_MIB, NO_ROOM, REFUSED, ROWS_MIB, SECONDS, TABLES, TASK, Task, What,
};
use crate::full;
use crate::read::{parquet, workbook};
use std::error::Error;
use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Environment variable with the folder that is shared with the process that waits.
pub const FOLDER: &str = "WINGTIDE_CONFINED";

/// To be called first thing in a program that loads: does the reading and gives the exit code
/// where the program was started to be a confined reader; else notes that it can be.
pub fn at_start() -> Option<ExitCode> {
    if let Some(folder) = std::env::var_os(FOLDER) {
        return Some(serve(&PathBuf::from(folder)));
    }
    if let Ok(program) = std::env::current_exe() {
        run::register(Program {
            program,
            args: Vec::new(),
        });
    }
    None
}

/// Reads what the folder asks for, within bounds that hold for the whole process from then on.
pub fn serve(folder: &Path) -> ExitCode {
    bound();
    match read(folder) {
        Ok(()) => ExitCode::SUCCESS,
        Err(cause) if full::is_full(&cause) => ExitCode::from(NO_ROOM),
        Err(_) => ExitCode::FAILURE,
    }
}

/// Where the system knows no such bounds, time and the checks before opening still hold.
fn bound() {
    #[cfg(unix)]
    for (resource, most) in [
        (rlimit::Resource::AS, MEMORY_MIB << 20),
        (rlimit::Resource::FSIZE, ROWS_MIB << 20),
        (rlimit::Resource::CPU, SECONDS),
        (rlimit::Resource::CORE, 0),
    ] {
        let _ = resource.set(most, most);
    }
}

/// Reads what the folder asks for; what the file refuses is written down there.
pub(super) fn read(folder: &Path) -> io::Result<()> {
    let task: Task = serde_json::from_slice(&std::fs::read(folder.join(TASK))?)?;
    let input = folder.join(INPUT);
    let tables = match task.what {
        What::Xlsx | What::Ods => workbook::tables(task.what, &input, task.sheet, folder),
        What::Parquet => parquet::tables(&input, folder),
    };
    match tables {
        Ok(tables) => std::fs::write(folder.join(TABLES), serde_json::to_vec(&tables)?),
        Err(why) => match no_room(&*why) {
            Some(cause) => Err(cause),
            None => std::fs::write(folder.join(REFUSED), why.to_string()),
        },
    }
}

/// Where it was not the file that was at fault but the disk that the rows go to.
fn no_room(why: &(dyn Error + 'static)) -> Option<io::Error> {
    let cause = match why.downcast_ref::<csv::Error>().map(csv::Error::kind) {
        Some(csv::ErrorKind::Io(cause)) => Some(cause),
        _ => why.downcast_ref::<io::Error>(),
    };
    cause
        .filter(|cause| full::is_full(cause))
        .map(|cause| cause.kind().into())
}
