//! Lists the look-alike sets of `data/look-alikes`, so that a new file there ships by itself.

use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let root = env::var("CARGO_MANIFEST_DIR").map_err(io::Error::other)?;
    let folder = Path::new(&root).join("data/look-alikes");
    println!("cargo::rerun-if-changed={}", folder.display());
    let mut files: Vec<PathBuf> = fs::read_dir(&folder)?
        .map(|entry| Ok(entry?.path()))
        .collect::<io::Result<_>>()?;
    files.retain(|path| path.extension().is_some_and(|e| e == "toml"));
    files.sort();
    let entries = files.iter().map(|path| {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        format!("    ({name:?}, include_str!({path:?})),\n")
    });
    let list = format!("&[\n{}]\n", entries.collect::<String>());
    let out = env::var("OUT_DIR").map_err(io::Error::other)?;
    fs::write(Path::new(&out).join("shipped_files.rs"), list)
}
