//! The side that waits.

use super::child::{self, FOLDER};
use super::task::{
    INPUT, MEMORY_MIB, NO_ROOM, REFUSED, SECONDS, TABLES, TASK, Tables, Task, What, rows_file,
};
use crate::full;
use crate::passing::PassingFolder;
use std::ffi::OsString;
use std::fs::File;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::OnceLock;
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// How a confined reader is started: a program that calls [`super::at_start`] or [`super::serve`].
#[derive(Debug, Clone)]
pub struct Program {
    /// The program.
    pub program: PathBuf,
    /// Its arguments.
    pub args: Vec<OsString>,
}

/// How the folders that are shared begin.
const PREFIX: &str = "wingtide-reading-";

static PROGRAM: OnceLock<Program> = OnceLock::new();

/// Names the program that is started for reading; the first one named stays.
pub fn register(program: Program) {
    // a second one could do no more than the first
    let _ = PROGRAM.set(program);
}

/// What came back.
pub(crate) struct Read {
    /// Name and rows of each table.
    pub(crate) tables: Vec<(String, Vec<u8>)>,
    /// All sheets that there are.
    pub(crate) sheets: Vec<String>,
    /// No process could be started: the reading was bounded in time alone.
    pub(crate) unconfined: bool,
}

/// Reads the bytes of a workbook or Parquet file; an error is a phrase that says why not.
pub(crate) fn read(what: What, bytes: &[u8], sheet: Option<&str>) -> Result<Read, String> {
    let folder = PassingFolder::begin(&std::env::temp_dir(), PREFIX).map_err(|e| no_room(&e))?;
    let task = Task {
        what,
        sheet: sheet.map(str::to_owned),
    };
    put(folder.path(), &task, bytes).map_err(|e| no_room(&e))?;
    let unconfined = match PROGRAM.get() {
        Some(program) => {
            confined(program, folder.path())?;
            false
        }
        None => {
            in_a_thread(folder.path())?;
            true
        }
    };
    if let Ok(why) = std::fs::read_to_string(folder.path().join(REFUSED)) {
        return Err(why);
    }
    take(folder.path(), unconfined).map_err(|e| no_room(&e))
}

fn no_room(cause: &io::Error) -> String {
    match full::is_full(cause) {
        true => disk_full(),
        false => format!("the folder for temporary files cannot be used ({cause})"),
    }
}

fn disk_full() -> String {
    let folder = std::env::temp_dir();
    format!(
        "the disk is full: the folder for temporary files, {}, takes no more; make room there",
        folder.display()
    )
}

fn put(folder: &Path, task: &Task, bytes: &[u8]) -> io::Result<()> {
    std::fs::write(folder.join(TASK), serde_json::to_vec(task)?)?;
    std::fs::write(folder.join(INPUT), bytes)
}

fn take(folder: &Path, unconfined: bool) -> io::Result<Read> {
    let tables: Tables = serde_json::from_slice(&std::fs::read(folder.join(TABLES))?)?;
    let rows = |(place, name): (usize, String)| {
        std::fs::read(folder.join(rows_file(place))).map(|rows| (name, rows))
    };
    let named = tables.names.into_iter().enumerate();
    Ok(Read {
        tables: named.map(rows).collect::<io::Result<_>>()?,
        sheets: tables.sheets,
        unconfined,
    })
}

const WORDS: &str = "words";

fn confined(program: &Program, folder: &Path) -> Result<(), String> {
    let started = File::create(folder.join(WORDS)).and_then(|words| start(program, folder, words));
    let mut child = started.map_err(|e| format!("no process could be started to read it ({e})"))?;
    let ended = wait(&mut child).map_err(|e| format!("the process that read it was lost ({e})"))?;
    match ended {
        None => Err(format!("reading it took more than {SECONDS} seconds")),
        Some(status) if status.success() => Ok(()),
        Some(status) if status.code() == Some(i32::from(NO_ROOM)) => Err(disk_full()),
        Some(status) => Err(why(status, folder)),
    }
}

fn start(program: &Program, folder: &Path, words: File) -> io::Result<Child> {
    Command::new(&program.program)
        .args(&program.args)
        .env(FOLDER, folder)
        // each thread's heap and stack would take its part of the bound
        .env("POLARS_MAX_THREADS", "1")
        .env("RAYON_NUM_THREADS", "1")
        .env("MALLOC_ARENA_MAX", "1")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(words)
        .spawn()
}

/// How it ended; None where it had to be stopped.
fn wait(child: &mut Child) -> io::Result<Option<ExitStatus>> {
    let until = Instant::now() + Duration::from_secs(SECONDS);
    let mut pause = Duration::from_millis(1);
    while Instant::now() < until {
        if let Some(status) = child.try_wait()? {
            return Ok(Some(status));
        }
        std::thread::sleep(pause);
        pause = (pause * 2).min(Duration::from_millis(50));
    }
    child.kill()?;
    child.wait()?;
    Ok(None)
}

/// Words that the standard library writes when memory cannot be had.
const NO_MEMORY: [&str; 2] = ["memory allocation of", "capacity overflow"];

fn why(status: ExitStatus, folder: &Path) -> String {
    // of a stream of words the beginning tells why
    let words = std::fs::read(folder.join(WORDS)).unwrap_or_default();
    let words = String::from_utf8_lossy(&words[..words.len().min(4096)]).into_owned();
    if NO_MEMORY.iter().any(|w| words.contains(w)) {
        return format!("reading it took more than {MEMORY_MIB} MiB of memory");
    }
    format!("it is damaged, or made to do harm: its reader was stopped ({status})")
}

/// For a program that cannot be its own reader: a panic is caught and time is bounded; memory is
/// bounded only by what was checked before.
fn in_a_thread(folder: &Path) -> Result<(), String> {
    let (done, waiting) = mpsc::channel();
    let folder = folder.to_owned();
    std::thread::spawn(move || {
        let read = catch_unwind(AssertUnwindSafe(|| child::read(&folder)));
        // nobody waits any more where time ran out
        let _ = done.send(read);
    });
    match waiting.recv_timeout(Duration::from_secs(SECONDS)) {
        Ok(Ok(Ok(()))) => Ok(()),
        Ok(Ok(Err(cause))) => Err(no_room(&cause)),
        Ok(Err(_)) => Err("it is damaged, or made to do harm: its reader was stopped".to_owned()),
        Err(_) => Err(format!("reading it took more than {SECONDS} seconds")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// No program is registered here, so that the reading is done by a thread.
    #[test]
    fn without_a_process_a_panic_or_a_refusal_is_still_a_phrase() {
        let damaged = [&b"PAR1"[..], &[0xff; 40], &200_u32.to_le_bytes(), b"PAR1"].concat();
        let why = read(What::Parquet, &damaged, None).err().unwrap();
        assert!(!why.is_empty() && !why.contains('\n'), "{why}");
        let gone = in_a_thread(Path::new("/nowhere/at/all")).unwrap_err();
        assert!(
            gone.starts_with("the folder for temporary files cannot be used"),
            "{gone}"
        );
    }
}
