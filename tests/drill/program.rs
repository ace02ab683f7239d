//! The program in a process of its own.
//!
//! The drill starts itself to be `wingtide`, which then is all that `wingtide` is, from its start:
//! a test cannot count on the program's own file being built. `--program` names one.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitCode, Output, Stdio};
use std::time::{Duration, Instant};

/// Set where the drill is to be the program.
const BE: &str = "WINGTIDE_DRILL_IS_THE_PROGRAM";

/// Where the drill was started to be `wingtide`: its exit code.
pub fn as_the_program() -> Option<ExitCode> {
    std::env::var_os(BE).map(|_| notifier::cli::start())
}

/// How the program is started.
pub struct Program {
    path: PathBuf,
    /// Started before it, with the program and its arguments behind.
    before: Vec<OsString>,
}

impl Program {
    /// The drill itself, or the program of that path.
    pub fn new(path: Option<&Path>) -> Self {
        let own = || std::env::current_exe().expect("a drill knows its own path");
        Program {
            path: path.map_or_else(own, Path::to_owned),
            before: Vec::new(),
        }
    }

    /// By way of other programs.
    pub fn after(&self, before: &[&str]) -> Self {
        Program {
            path: self.path.clone(),
            before: before.iter().map(Into::into).collect(),
        }
    }

    fn command(&self, place: &Place, args: &[&str]) -> Command {
        let mut words = self.before.iter().cloned();
        let mut command = match words.next() {
            Some(first) => {
                let mut command = Command::new(first);
                command.args(words).arg(&self.path);
                command
            }
            None => Command::new(&self.path),
        };
        command
            .arg("--dir")
            .arg(place.workspace())
            .args(args)
            .env(BE, "1")
            .env("TMPDIR", place.passing())
            .current_dir(place.workspace());
        command
    }

    /// Runs it to its end.
    pub fn run(&self, place: &Place, args: &[&str]) -> Ran {
        let begun = Instant::now();
        let ran = self.command(place, args).output();
        let Output {
            status,
            stdout,
            stderr,
        } = ran.expect("the program starts");
        let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
        Ran {
            worked: status.success(),
            out: text(stdout),
            err: text(stderr),
            took: begun.elapsed(),
        }
    }

    /// Starts it; what it says is kept.
    pub fn start(&self, place: &Place, args: &[&str]) -> Child {
        let mut command = self.command(place, args);
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        command.spawn().expect("the program starts")
    }

    /// Starts it and kills it after a while; false where it had ended before.
    pub fn kill(&self, place: &Place, args: &[&str], after: Duration) -> bool {
        let mut command = self.command(place, args);
        command.stdout(Stdio::null()).stderr(Stdio::null());
        let mut child: Child = command.spawn().expect("the program starts");
        std::thread::sleep(after);
        let ended = child.try_wait().expect("its own child is known").is_some();
        child.kill().expect("its own child can be killed");
        child.wait().expect("its own child can be waited for");
        !ended
    }
}

/// How it ended.
pub struct Ran {
    pub worked: bool,
    pub out: String,
    pub err: String,
    pub took: Duration,
}

/// Where it runs: a workspace, and a folder for what it writes in passing.
pub struct Place {
    root: PathBuf,
}

impl Place {
    /// In a folder that is there.
    pub fn new(root: &Path) -> Self {
        let place = Place {
            root: root.to_owned(),
        };
        for folder in [place.workspace(), place.passing()] {
            std::fs::create_dir_all(folder).expect("a folder of our own");
        }
        place
    }

    /// A copy of a workspace.
    pub fn copy(root: &Path, of: &Path) -> Self {
        let place = Place::new(root);
        copy(of, &place.workspace());
        place
    }

    pub fn workspace(&self) -> PathBuf {
        self.root.join("workspace")
    }

    pub fn passing(&self) -> PathBuf {
        self.root.join("passing")
    }

    /// Every file and folder, by its path from here.
    pub fn names(&self) -> Vec<String> {
        let mut names = Vec::new();
        walk(&self.root, &mut |path| {
            let inside = path.strip_prefix(&self.root).expect("it lies inside");
            names.push(inside.display().to_string());
        });
        names.sort();
        names
    }
}

/// Copies all that is in a folder.
pub fn copy(from: &Path, to: &Path) {
    walk(from, &mut |path| {
        let to = to.join(path.strip_prefix(from).expect("it lies inside"));
        match path.is_dir() {
            true => std::fs::create_dir_all(to).expect("a folder can be made"),
            false => drop(std::fs::copy(path, to).expect("a file can be copied")),
        }
    });
}

/// All that is in a folder, what holds something before what it holds.
pub fn walk(folder: &Path, seen: &mut dyn FnMut(&Path)) {
    for entry in std::fs::read_dir(folder).expect("a folder can be read") {
        let path = entry.expect("an entry can be read").path();
        seen(&path);
        if path.is_dir() {
            walk(&path, seen);
        }
    }
}
