//! The program, run inside the test's own process, and folders to run it in.

use crate::ledger;
use notifier::cli::{Streams, run};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// What a command said and did.
pub struct Ran {
    /// Exit code.
    pub code: u8,
    /// Data.
    pub out: String,
    /// Words.
    pub err: String,
}

impl Ran {
    /// The data of a command that must have worked.
    pub fn works(self) -> String {
        assert_eq!(self.code, 0, "{}{}", self.out, self.err);
        self.out
    }

    /// The JSON of a command that must have worked.
    pub fn json(self) -> Value {
        serde_json::from_str(&self.works()).expect("JSON on stdout")
    }

    /// What a command said that must have failed without any data.
    pub fn fails(self) -> String {
        assert_eq!((self.code, self.out.as_str()), (1, ""), "{}", self.err);
        self.err
    }
}

/// Runs the program on a workspace, in 80 columns, nobody looking on.
pub fn wingtide(dir: &Path, args: &[&str]) -> Ran {
    let dir = dir.to_str().expect("a plain path");
    typed(&[&["--dir", dir], args].concat())
}

/// Runs the program with nothing but the arguments.
pub fn typed(args: &[&str]) -> Ran {
    answered(args, "")
}

/// Runs the program with the arguments and the lines that a person answers with.
pub fn answered(args: &[&str], answers: &str) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut streams = Streams {
        input: &mut answers.as_bytes(),
        out: &mut out,
        err: &mut err,
        progress: false,
        width: 80,
        colour: false,
    };
    let code = run(["wingtide"].iter().chain(args), &mut streams);
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    Ran {
        code,
        out: text(out),
        err: text(err),
    }
}

/// A workspace in a folder of its own, which goes with it.
pub struct Workspace {
    dir: TempDir,
}

impl Default for Workspace {
    fn default() -> Self {
        Self::empty()
    }
}

impl Workspace {
    /// An empty folder.
    pub fn empty() -> Self {
        Workspace {
            dir: tempfile::tempdir().expect("a folder of our own"),
        }
    }

    /// With a file.
    pub fn with(self, name: &str, content: impl AsRef<[u8]>) -> Self {
        self.write(name, content);
        self
    }

    /// Writes or replaces a file.
    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        std::fs::write(self.path(name), content).expect("the file can be written");
    }

    /// A path inside.
    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// Runs a command on it.
    pub fn run(&self, args: &[&str]) -> Ran {
        wingtide(self.dir.path(), args)
    }

    /// Every file of the store with what it holds; empty where there is no store.
    pub fn store(&self) -> BTreeMap<PathBuf, Vec<u8>> {
        let Ok(entries) = std::fs::read_dir(self.path(ingest::STORE_FOLDER)) else {
            return BTreeMap::new();
        };
        let paths = entries.map(|e| e.expect("an entry of the store").path());
        paths.map(|path| (path.clone(), told(&path))).collect()
    }
}

/// A ledger's rows, any other file's bytes.
fn told(path: &Path) -> Vec<u8> {
    match path.file_name().is_some_and(|name| name == "ledger.sqlite") {
        true => ledger::told(path),
        false => std::fs::read(path).expect("a file"),
    }
}
