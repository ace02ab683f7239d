//! Where things lie, and what to do where they don't.

use std::path::{Path, PathBuf};

/// The root of the repository.
pub fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// A file or folder of the project's own published reference values.
pub fn reference(name: &str) -> PathBuf {
    repository().join("tests/reference").join(name)
}

/// A file or folder of the material beside the repository, None where it is absent.
pub fn shared(name: &str) -> Option<PathBuf> {
    let path = repository().join("../shared").join(name);
    path.exists().then_some(path)
}

/// Says in sight that a test was skipped, and notes it in the file that `WINGTIDE_SKIPS` names,
/// so that a full run can insist on none.
pub fn skipped(why: &str) {
    println!("SKIPPED: {why}");
    if let Some(path) = std::env::var_os("WINGTIDE_SKIPS") {
        use std::io::Write;
        let file = std::fs::OpenOptions::new()
            .append(true)
            .create(true)
            .open(path);
        let noted = file.and_then(|mut f| writeln!(f, "{why}"));
        noted.expect("the file that WINGTIDE_SKIPS names can be written");
    }
}
