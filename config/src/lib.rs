//! What the people wrote down: settings, sites, species, sources, look-alike sets and marks.
//!
//! [`load`] is the only code here that touches a disk; [`parse`] does the same from text.

mod backtest;
pub mod cron_line;
mod digest;
pub mod error;
mod fetch;
mod half_years;
mod handout;
mod ids;
pub mod look_alikes;
pub mod meaning;
pub mod nearest;
mod overlap;
mod own_sets;
pub mod plan;
mod raw;
mod records;
pub mod second_look;
pub mod sensitive;
pub mod service;
mod set_choice;
mod set_files;
pub mod settings;
mod sites;
mod sources;
mod species;
mod store;
mod workspace;

pub use error::{ConfigError, Problem};
pub use set_files::SetFiles;
pub use workspace::parse;

use set_files::OnDisk;
use settings::Workspace;
use std::io;
use std::path::Path;

/// The file that makes a folder a workspace.
pub const FILE_NAME: &str = "wingtide.toml";

/// Stands in proposed settings where the user has to write something; no value may be so.
pub const FILL_IN: &str = "FILL IN";

/// What an id looks like, for messages.
const ID: &str = r#"a short name of letters, digits, - and _, such as "long-bank""#;

/// The commented `wingtide.toml` of a new workspace. It loads as it stands.
pub fn new_workspace_toml() -> &'static str {
    include_str!("../data/new-workspace/wingtide.toml")
}

/// Reads and checks the `wingtide.toml` in `dir`, and the look-alike set files it names.
///
/// # Errors
/// The file that cannot be read, or every problem found in it, each as one sentence.
pub fn load(dir: &Path) -> Result<Workspace, ConfigError> {
    let unreadable = |e: io::Error| match e.kind() {
        io::ErrorKind::NotFound => ConfigError::of_file(
            FILE_NAME,
            format!("there is no such file in {}", dir.display()),
            Some(
                "start a workspace with \"wingtide new\", or name the folder that holds one"
                    .to_owned(),
            ),
        ),
        _ => ConfigError::of_file(FILE_NAME, format!("this file {}", cannot_read(&e)), None),
    };
    let root = std::path::absolute(dir).map_err(unreadable)?;
    let text = std::fs::read_to_string(root.join(FILE_NAME)).map_err(unreadable)?;
    parse(&text, &root, OnDisk)
}

/// Reads and checks one look-alike set file.
///
/// # Errors
/// The file that cannot be read, or every problem found in it, each as one sentence.
pub fn load_set(path: &Path) -> Result<look_alikes::LookAlikeSet, ConfigError> {
    let file = path.display().to_string();
    let text = std::fs::read_to_string(path)
        .map_err(|e| ConfigError::of_file(&file, format!("this file {}", cannot_read(&e)), None))?;
    look_alikes::parse_set(&file, &text)
}

/// What is the matter with a file that cannot be read, to go on after its name.
fn cannot_read(e: &io::Error) -> String {
    match e.kind() {
        io::ErrorKind::InvalidData => "is not UTF-8 text; save it as UTF-8".to_owned(),
        io::ErrorKind::NotFound => "is not there".to_owned(),
        _ => format!("cannot be read: {e}"),
    }
}
