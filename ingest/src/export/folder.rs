//! The folder that is passed on: its files are written aside and moved in when all are whole.

use super::ExportError;
use crate::full::Noting;
use crate::passing::PassingFolder;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Tells by its first line that the folder is ours to write over.
pub(super) const README: &str = "README.txt";
pub(super) const FIRST_LINE: &str = "Counts passed on by Wingtide";

/// Every file that an export may write.
const NAMES: [&str; 11] = [
    README,
    "wingtide.toml",
    "counts.csv",
    "visits.csv",
    "temperature.csv",
    "coarse.csv",
    "counts.parquet",
    "visits.parquet",
    "temperature.parquet",
    "coarse.parquet",
    "darwin-core.zip",
];

/// How the folder begins in which files are written aside.
const ASIDE: &str = ".wingtide-";

/// A file under way.
pub(super) type Written = Noting<BufWriter<File>>;

/// A folder under way.
pub(super) struct Folder {
    out: PathBuf,
    aside: PassingFolder,
}

impl Folder {
    /// Makes the folder where it is missing. One that holds anything but an earlier export is
    /// refused: it may be somebody's workspace.
    pub(super) fn begin(out: &Path) -> Result<Self, ExportError> {
        let failed = |e: io::Error| ExportError::write(out, e);
        std::fs::create_dir_all(out).map_err(failed)?;
        // what an export that was stopped left is cleared away before the folder is looked at
        let aside = PassingFolder::begin(out, ASIDE).map_err(failed)?;
        let mut entries = std::fs::read_dir(out).map_err(failed)?;
        let empty = entries
            .all(|entry| entry.is_ok_and(|e| Some(&*e.file_name()) == aside.path().file_name()));
        if !empty && !is_ours(out) {
            return Err(ExportError::NotOurs(out.to_owned()));
        }
        Ok(Folder {
            out: out.to_owned(),
            aside,
        })
    }

    /// Writes a file aside; `name` is one of [`NAMES`].
    pub(super) fn file(
        &self,
        name: &str,
        fill: impl FnOnce(&mut Written) -> io::Result<()>,
    ) -> Result<(), ExportError> {
        let written = File::create(self.aside.path().join(name)).and_then(|file| {
            let mut noting = Noting::new(BufWriter::new(file));
            let filled = fill(&mut noting).and_then(|()| noting.flush());
            filled.map_err(|e| noting.cause(e))
        });
        written.map_err(|e| ExportError::write(self.out.join(name), e))
    }

    pub(super) fn text(&self, name: &str, text: &str) -> Result<(), ExportError> {
        self.file(name, |file| file.write_all(text.as_bytes()))
    }

    /// Moves the files into the folder and takes out those that an earlier export left.
    pub(super) fn finish(self) -> Result<Vec<PathBuf>, ExportError> {
        let mut files = Vec::new();
        for name in NAMES {
            let (aside, path) = (self.aside.path().join(name), self.out.join(name));
            let done = if aside.exists() {
                files.push(path.clone());
                std::fs::rename(&aside, &path)
            } else if path.exists() {
                std::fs::remove_file(&path)
            } else {
                Ok(())
            };
            done.map_err(|e| ExportError::write(path, e))?;
        }
        Ok(files)
    }
}

fn is_ours(out: &Path) -> bool {
    let text = std::fs::read_to_string(out.join(README)).unwrap_or_default();
    text.lines().next() == Some(FIRST_LINE)
}
