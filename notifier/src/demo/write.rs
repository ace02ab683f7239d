//! Puts a demo on the disk.

use super::{DemoError, DemoFiles};
use std::fs;
use std::path::{Path, PathBuf};

/// First line of a demo's README, by which its folder is told from anybody's own work.
pub const FIRST_LINE: &str = "Wingtide demo: everything in this folder is invented.";

/// Writes a demo into a folder, which is made where it is missing, and returns the files'
/// paths. An earlier demo in the folder is written anew; other files there are left alone.
/// Every file is complete before the first one gets its name.
///
/// # Errors
/// [`DemoError::NotADemo`] when the folder holds anything but a demo, [`DemoError::NotAFolder`],
/// and [`DemoError::Disk`] when the disk refuses.
pub fn write(dir: &Path, files: &DemoFiles) -> Result<Vec<PathBuf>, DemoError> {
    check_folder(dir)?;
    fs::create_dir_all(dir).map_err(at(dir))?;
    let placed = files.named().map(|(name, text)| Placed {
        staged: dir.join(format!("{name}.part")),
        path: dir.join(name),
        text,
    });
    let done = place(&placed);
    if done.is_err() {
        // What is left of the attempt must not bar the next one; the first error is the one to tell.
        for file in &placed {
            let _ = fs::remove_file(&file.staged);
        }
    }
    done.map(|()| placed.map(|file| file.path).to_vec())
}

struct Placed<'a> {
    staged: PathBuf,
    path: PathBuf,
    text: &'a str,
}

fn place(files: &[Placed<'_>]) -> Result<(), DemoError> {
    for file in files {
        fs::write(&file.staged, file.text).map_err(at(&file.staged))?;
    }
    for file in files {
        fs::rename(&file.staged, &file.path).map_err(at(&file.path))?;
    }
    Ok(())
}

fn check_folder(dir: &Path) -> Result<(), DemoError> {
    if !dir.try_exists().map_err(at(dir))? {
        return Ok(());
    }
    if !dir.is_dir() {
        return Err(DemoError::NotAFolder(dir.to_path_buf()));
    }
    let empty = fs::read_dir(dir).map_err(at(dir))?.next().is_none();
    if empty || is_demo(dir) {
        Ok(())
    } else {
        Err(DemoError::NotADemo(dir.to_path_buf()))
    }
}

fn is_demo(dir: &Path) -> bool {
    // A README that cannot be read as text is nobody's demo.
    fs::read_to_string(dir.join("README.txt"))
        .is_ok_and(|text| text.lines().next() == Some(FIRST_LINE))
}

fn at(path: &Path) -> impl FnOnce(std::io::Error) -> DemoError {
    let path = path.to_path_buf();
    move |source| DemoError::Disk { path, source }
}
