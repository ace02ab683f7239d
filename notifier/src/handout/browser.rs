//! A page printed to PDF by Chromium without a window, where there is one: for so long and no
//! longer, without a network, in a profile that goes with it.

use std::io;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

/// Names that it goes by.
const NAMES: [&str; 4] = [
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
];
/// How often it is looked at.
const LOOK: Duration = Duration::from_millis(50);

/// Why there is no PDF.
#[derive(Debug, thiserror::Error)]
pub enum BrowserError {
    /// No browser is on the search path.
    #[error("no Chromium is on the search path")]
    Absent,
    /// It took longer than it may.
    #[error("Chromium did not finish within {0} seconds")]
    TooLong(u64),
    /// It stopped, or wrote nothing.
    #[error("Chromium wrote no PDF ({0})")]
    Nothing(ExitStatus),
    /// It cannot be run, or its files cannot be.
    #[error("Chromium cannot be run: {0}")]
    Run(#[from] io::Error),
}

/// The browser on the search path `paths`, as `PATH` has it.
pub fn found(paths: &std::ffi::OsStr) -> Option<PathBuf> {
    let of = |folder: PathBuf| NAMES.map(|name| folder.join(name));
    let all = std::env::split_paths(paths).flat_map(of);
    all.into_iter().find(|path| path.is_file())
}

/// Prints a page that loads nothing, and gives the PDF's bytes.
///
/// # Errors
/// [`BrowserError`].
pub fn print(browser: &Path, html: &str, longest: Duration) -> Result<Vec<u8>, BrowserError> {
    let home = tempfile::tempdir()?;
    let (page, pdf) = (home.path().join("page.html"), home.path().join("page.pdf"));
    std::fs::write(&page, html)?;
    let mut command = Command::new(browser);
    command
        .args(["--headless=new", "--disable-gpu", "--no-first-run"])
        .args(["--disable-dev-shm-usage", "--disable-extensions"])
        .args(["--disable-background-networking", "--disable-sync"])
        // nothing of the page is elsewhere, and no name is to be looked up
        .args(["--host-resolver-rules=MAP * ~NOTFOUND", "--no-proxy-server"])
        .arg("--no-pdf-header-footer")
        .arg(argument("--user-data-dir=", home.path()))
        .arg(argument("--print-to-pdf=", &pdf));
    if is_root()? {
        // root has no sandbox there, and the page is ours, without scripts
        command.arg("--no-sandbox");
    }
    command.arg(&page).env("HOME", home.path());
    command.stdin(Stdio::null());
    command.stdout(Stdio::null()).stderr(Stdio::null());
    let status = wait(command.spawn()?, longest)?;
    match std::fs::read(&pdf) {
        Ok(bytes) if status.success() && !bytes.is_empty() => Ok(bytes),
        _ => Err(BrowserError::Nothing(status)),
    }
}

fn argument(name: &str, path: &Path) -> std::ffi::OsString {
    let mut argument = std::ffi::OsString::from(name);
    argument.push(path);
    argument
}

/// Whose process this is, as the kernel says.
#[cfg(target_os = "linux")]
fn is_root() -> io::Result<bool> {
    use std::os::unix::fs::MetadataExt;
    Ok(std::fs::metadata("/proc/self")?.uid() == 0)
}

#[cfg(not(target_os = "linux"))]
fn is_root() -> io::Result<bool> {
    Ok(false)
}

/// Waits for it, and ends it where it takes too long.
fn wait(mut child: Child, longest: Duration) -> Result<ExitStatus, BrowserError> {
    let began = Instant::now();
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(status);
        }
        if began.elapsed() >= longest {
            child.kill()?;
            child.wait()?;
            return Err(BrowserError::TooLong(longest.as_secs()));
        }
        std::thread::sleep(LOOK);
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use std::os::unix::fs::PermissionsExt;

    /// A program of that name in a folder of its own.
    fn program(script: &str) -> (tempfile::TempDir, PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("chromium");
        std::fs::write(&path, format!("#!/bin/sh\n{script}\n")).unwrap();
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o755)).unwrap();
        (folder, path)
    }

    #[test]
    fn one_that_hangs_is_ended_and_one_that_fails_is_told() {
        let (_hangs, path) = program("exec sleep 60");
        let said = print(&path, "", Duration::from_millis(200)).unwrap_err();
        assert!(matches!(said, BrowserError::TooLong(0)), "{said}");
        let (_fails, path) = program("exit 3");
        let said = print(&path, "", Duration::from_secs(20)).unwrap_err();
        assert!(matches!(said, BrowserError::Nothing(_)), "{said}");
    }

    #[test]
    fn it_is_found_on_the_search_path_alone() {
        let (folder, path) = program("exit 0");
        assert_eq!(found(folder.path().as_os_str()), Some(path));
        assert_eq!(found(std::ffi::OsStr::new("")), None);
    }
}
