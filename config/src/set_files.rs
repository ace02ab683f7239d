//! Where look-alike set files come from, and the folder of a workspace's own.

use crate::look_alikes::{LookAlikeSet, parse_set};
use crate::raw::Section;
use std::ffi::OsStr;
use std::io;
use std::path::{Path, PathBuf};

/// Gives set files by their paths. A function from a path to its text is one that knows no
/// folders.
pub trait SetFiles {
    /// The text of a file.
    ///
    /// # Errors
    /// The file cannot be read.
    fn text(&self, file: &Path) -> io::Result<String>;

    /// The paths of what stands in a folder, in any order.
    ///
    /// # Errors
    /// The folder cannot be read.
    fn entries(&self, folder: &Path) -> io::Result<Vec<PathBuf>>;
}

impl<F: Fn(&Path) -> io::Result<String>> SetFiles for F {
    fn text(&self, file: &Path) -> io::Result<String> {
        self(file)
    }

    fn entries(&self, _: &Path) -> io::Result<Vec<PathBuf>> {
        Err(io::ErrorKind::NotFound.into())
    }
}

/// The files of the computer.
pub(crate) struct OnDisk;

impl SetFiles for OnDisk {
    fn text(&self, file: &Path) -> io::Result<String> {
        std::fs::read_to_string(file)
    }

    fn entries(&self, folder: &Path) -> io::Result<Vec<PathBuf>> {
        let entries = std::fs::read_dir(folder)?;
        entries.map(|entry| Ok(entry?.path())).collect()
    }
}

/// Every set of the folder that `folder` names, below `root`, in the order of the file names.
pub(crate) fn of_folder(
    section: &Section<'_>,
    root: &Path,
    files: &dyn SetFiles,
) -> Vec<LookAlikeSet> {
    let Some(folder) = section.text("folder") else {
        return Vec::new();
    };
    let mut paths = match files.entries(&root.join(folder.get_ref())) {
        Ok(paths) => paths,
        Err(e) => {
            let why = crate::cannot_read(&e);
            let message = format!("folder {:?} of {} {why}", folder.get_ref(), section.title());
            section.refuse(&folder, message, None);
            return Vec::new();
        }
    };
    paths.retain(|path| path.extension() == Some(OsStr::new("toml")));
    paths.sort();
    let mut sets: Vec<LookAlikeSet> = Vec::new();
    for path in &paths {
        let file = path.file_name().unwrap_or_default().to_string_lossy();
        // called as it stands in the folder that was written
        let called = format!("{}/{file}", folder.get_ref().trim_end_matches('/'));
        let read = files.text(path).map_err(|e| crate::cannot_read(&e));
        match read.map(|text| parse_set(&called, &text)) {
            Ok(Ok(set)) if sets.iter().any(|other| other.id == set.id) => {
                let message = format!("{called} has the id {:?} of another file there", set.id);
                section.refuse(&folder, message, None);
            }
            Ok(Ok(set)) => sets.push(set),
            Ok(Err(e)) => section.doc().take_over(e),
            Err(why) => section.refuse(&folder, format!("{called} {why}"), None),
        }
    }
    sets
}
